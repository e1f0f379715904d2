"""Options, error messages, progress and printing that several commands share."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

if TYPE_CHECKING:
    from cyclechart.finding import Finding
    from cyclechart.piece.model import Piece
    from cyclechart.text.source import Source
    from cyclechart.theory.spelling import Tonic

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

SOUND_KIND = click.option(
    "--as",
    "kind",
    type=click.Choice(["mp3", "flac", "ogg", "wav"]),
    default="mp3",
    show_default=True,
    help="The kind of sound file.",
)


class CannotRun(click.ClickException):
    """The command itself could not run, mostly for an error of the file system."""

    exit_code = 2


def cannot(error: OSError, path: Path) -> CannotRun:
    """Return an error with the file's name and the system's message."""
    return CannotRun(f"{error.filename or path}: {error.strerror or error}")


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
    from cyclechart.write.terminal import findings as report

    letter = letter_of(tonic) if tonic is not None else None
    try:
        loaded = load(path, RULE_NAMES)
    except OSError as error:
        raise cannot(error, path) from error
    if loaded.piece is None or any(one.severity == "error" for one in loaded.findings):
        click.echo(report.as_text(in_order(loaded.findings), loaded.sources), err=True)
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


def print_findings(findings: Sequence[Finding], sources: Mapping[str, Source]) -> None:
    """Print sorted findings on stderr, each with its line; nothing where there are none."""
    if findings:
        from cyclechart.write.terminal.findings import as_text

        click.echo(as_text(findings, sources), err=True)


def print_summary(findings: Sequence[Finding], pieces: int) -> None:
    """Print on stderr how many findings there are in so many pieces."""
    from cyclechart.write.terminal.findings import summary

    click.echo(summary(findings, pieces), err=True)


@contextmanager
def progress(label: str) -> Iterator[Callable[[float, float], None]]:
    """A progress bar on stderr if that is a terminal.

    Yields a function that takes the work done and the whole of the work."""
    if not sys.stderr.isatty():
        yield lambda _done, _of: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(label, total=None)
        yield lambda done, of: bar.update(task, completed=done, total=max(of, 1))


def in_progress(label: str, paths: Sequence[Path]) -> Iterator[Path]:
    """The paths, with a bar that moves on with each where there is more than one."""
    if len(paths) < 2:
        yield from paths
        return
    with progress(label) as show:
        for number, path in enumerate(paths):
            show(number, len(paths))
            yield path


def as_taken(piece: Piece, findings: Sequence[Finding]) -> Piece:
    """Return the piece with only those liberties that cover a finding, for the chart lists them."""
    unused = {finding.spot for finding in findings if finding.rule == "unused-liberty"}
    kept = tuple(liberty for liberty in piece.liberties if liberty.spot not in unused)
    return replace(piece, liberties=kept)


def hint(name: str, known: Iterable[str]) -> str:
    """Return the names nearest to an unknown one, as the end of its message; or ""."""
    from cyclechart.text.near_names import nearest_names

    close = nearest_names(name, known)
    return f"; did you mean {', '.join(close)}?" if close else ""


def no_such(what: str, name: str, known: Iterable[str]) -> str:
    from cyclechart.text.excerpts import clip

    return f"there is no {what} '{clip(name)}'{hint(name, known)}"
