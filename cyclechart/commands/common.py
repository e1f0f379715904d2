"""Options, error messages and the reading of pieces that several commands share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

from cyclechart.commands.reporting import print_findings

if TYPE_CHECKING:
    from cyclechart.finding import Finding
    from cyclechart.piece.model import Piece
    from cyclechart.text.source import Source
    from cyclechart.theory.spelling import Tonic
    from cyclechart.write.audio.sound_options import Balance, SoundOptions

FORMATS = click.Choice(["text", "json"])

PAPER = click.option(
    "--paper",
    type=click.Choice(["a4", "letter", "tablet", "stage"]),
    default="a4",
    show_default=True,
    help="The page size; stage is large, to be read from a music stand.",
)

HEADING = click.option(
    "--heading",
    type=click.Choice(["full", "short"]),
    default="full",
    show_default=True,
    help="The heading of each chart; short leaves out the tones, the cycles and the form.",
)

TO = click.option(
    "--to",
    "folder",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("output"),
    show_default=True,
    help="The folder in which each piece or set gets a folder of its own.",
)

PLAIN = click.option(
    "--plain",
    is_flag=True,
    help="Level, on the grid and without vibrato: for a click and a ruler.",
)
SOUND_KIND = click.option(
    "--as",
    "kind",
    type=click.Choice(["mp3", "flac", "ogg", "wav"]),
    default="mp3",
    show_default=True,
    help="The kind of sound file.",
)

BALANCE = click.option(
    "--balance",
    type=click.Choice(["headphones", "loudspeakers"]),
    default="headphones",
    show_default=True,
    help="What the sound is to be heard on; a phone's loudspeaker plays no low tones.",
)

FONT = click.option(
    "--font",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    metavar="FILE.sf2",
    help="A sound font (SF2) that players of lines, bass and drum kit sound from.",
)


class CannotRun(click.ClickException):
    """The command itself could not run, mostly for an error of the file system."""

    exit_code = 2


def cannot(error: OSError, path: Path) -> CannotRun:
    """Return an error with the file's name and the system's message."""
    return CannotRun(f"{error.filename or path}: {error.strerror or error}")


NO_PLAYER = (
    "--font needs the package tinysoundfont; install it with: pip install 'cyclechart[font]', or, "
    "where PortAudio is not there to build with, pip install --no-deps tinysoundfont"
)


class Read(NamedTuple):
    """A piece that could be read completely, with the findings of reading it."""

    piece: Piece
    findings: tuple[Finding, ...]
    sources: dict[str, Source]


def read_whole(path: Path, tonic: str | None) -> Read:
    """Return a piece, on another Sa if asked; print findings and exit where it cannot be read."""
    from cyclechart.arrange.transpose import transposed
    from cyclechart.piece.load import load
    from cyclechart.rules.judge import RULE_NAMES, in_order

    letter = letter_of(tonic) if tonic is not None else None
    try:
        loaded = load(path, RULE_NAMES)
    except OSError as error:
        raise cannot(error, path) from error
    if loaded.piece is None or any(one.severity == "error" for one in loaded.findings):
        print_findings(in_order(loaded.findings), loaded.sources)
        click.echo(f"{path}: cannot be read completely, so nothing was written", err=True)
        raise SystemExit(1)
    piece = loaded.piece if letter is None else transposed(loaded.piece, letter)
    return Read(piece, loaded.findings, loaded.sources)


def on_sa(path: Path, tonic: str | None) -> Piece:
    """The piece alone of ``read_whole``."""
    return read_whole(path, tonic).piece


def letter_of(text: str) -> Tonic:
    """Return the letter that an option gives for Sa."""
    from cyclechart.piece.heading import read_tonic

    tonic = read_tonic(text)
    if tonic is None:
        raise click.BadParameter(f"'{text}' is not a letter name; write one such as D, Eb or F#")
    return tonic


def status(findings: Sequence[Finding], strict: bool) -> int:
    """The exit status: 1 where an error counts, or with ``strict`` a warning."""
    if any(finding.counts for finding in findings):
        return 1
    warned = any(f.severity == "warning" and f.liberty is None for f in findings)
    return 1 if strict and warned else 0


def print_written(paths: Iterable[Path], sentences: Iterable[str]) -> None:
    """Print the files that were written, and on stderr the sentences about them."""
    for path in paths:
        click.echo(path)
    for sentence in sentences:
        click.echo(sentence, err=True)


def sound_options(balance: Balance, font: Path | None) -> SoundOptions:
    """Return what is chosen of the sound; refuse a font that cannot be used."""
    from importlib.util import find_spec

    from cyclechart.sound.soundfont_file import BadFont, read_soundfont
    from cyclechart.write.audio.sound_options import SoundOptions

    if font is None:
        return SoundOptions(balance)
    if find_spec("tinysoundfont") is None:
        raise CannotRun(NO_PLAYER)
    try:
        return SoundOptions(balance, read_soundfont(font))
    except BadFont as error:
        raise CannotRun(f"{font} cannot be used as a sound font: {error}") from error
    except OSError as error:
        raise cannot(error, font) from error


def as_taken(piece: Piece, findings: Sequence[Finding]) -> Piece:
    """Return the piece with only those liberties that cover a finding, for the chart lists them."""
    unused = {finding.spot for finding in findings if finding.rule == "unused-liberty"}
    kept = tuple(liberty for liberty in piece.liberties if liberty.spot not in unused)
    return replace(piece, liberties=kept)


def hint(name: str, known: Iterable[str]) -> str:
    """Return the names nearest to an unknown one, as the end of its message; or ""."""
    from cyclechart.text.near_names import nearest_names

    return did_you_mean(nearest_names(name, known))


def did_you_mean(names: Sequence[str]) -> str:
    """Return names that may be meant, as the end of a message; "" for none."""
    return f"; did you mean {', '.join(names)}?" if names else ""


def no_such(what: str, name: str, known: Iterable[str]) -> str:
    from cyclechart.text.excerpts import clip

    return f"there is no {what} '{clip(name)}'{hint(name, known)}"
