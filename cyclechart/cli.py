"""The commands: parse options, call, print. What a command needs alone it imports when it runs."""

from __future__ import annotations

import io
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cyclechart import __version__
from cyclechart.commands.backing import backing
from cyclechart.commands.book import book
from cyclechart.commands.cadence import cadence
from cyclechart.commands.common import (
    FORMATS,
    PAPER,
    TO,
    as_taken,
    cannot,
    hint,
    letter_of,
    status,
)
from cyclechart.commands.drill import drill
from cyclechart.commands.live import live
from cyclechart.commands.modes import modes
from cyclechart.commands.rehearse import rehearse
from cyclechart.commands.tonics import tonics
from cyclechart.finding import Finding
from cyclechart.piece.load import Loaded, load
from cyclechart.rules.listing import RULE_NAMES, help_texts, in_order, judge
from cyclechart.text.source import Source
from cyclechart.write import report

if TYPE_CHECKING:
    from cyclechart.theory.spelling import Tonic
    from cyclechart.write.cards import Found

REPORT_BUGS = (
    "This is a mistake in cyclechart, not in your piece. Please report it with the piece file and "
    "the lines above. The files written before it are whole; the piece it happened in has its old "
    "ones."
)
KINDS = ("midi", "musicxml", "chart", "parts", "score", "grid")
NAMES = ("sargam", "letters", "degrees", "solfa16", "none")
SIGNATURES = ("nearest", "own", "none")

PIECES = click.argument(
    "pieces",
    nargs=-1,
    required=True,
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
)

TONIC = click.option("--tonic", help="The whole piece on another Sa.")


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="cyclechart")
def cli() -> None:
    """Charts, rehearsal MIDI and plain findings for music in a mode and a cycle.

    Mode grammars differ by teacher and lineage: a finding holds a line against the mode as it is
    written down here, and your own teacher's word goes before it.
    """


def main() -> None:
    """The entry point: a bug in our code says so, with how to report it."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a console without ♭ is no reason to stop
    try:
        cli()
    except Exception:
        import traceback

        traceback.print_exc()
        click.echo(REPORT_BUGS, err=True)
        sys.exit(70)


def _judged(path: Path, tonic: str | None) -> tuple[Loaded, list[Finding]]:
    """A piece read, moved to another Sa if asked, and judged: what it holds, and every finding in
    order."""
    try:
        loaded = load(path, RULE_NAMES)
    except OSError as error:
        raise cannot(error, path) from error
    if tonic is not None:
        from cyclechart.arrange.moved import moved

        letter = letter_of(tonic)
        if loaded.piece is not None:
            loaded = replace(loaded, piece=moved(loaded.piece, letter))
    findings = list(loaded.findings)
    if loaded.piece is not None:
        findings += judge(loaded.piece)
    return loaded, in_order(findings)


def _cadences(loaded: Loaded) -> str:
    """What the report says of a piece's cadences."""
    if loaded.piece is None or not any(line.cadences for line in loaded.piece.lines.values()):
        return ""
    from cyclechart.write.cadence_report import as_text

    return as_text(loaded.piece)


@cli.command()
@PIECES
@click.option("--format", "form", type=FORMATS, default="text", help="How to print the findings.")
@TONIC
@click.option("--strict", is_flag=True, help="Exit with 1 for warnings too.")
def check(pieces: tuple[Path, ...], form: str, tonic: str | None, strict: bool) -> None:
    """Say what is wrong in PIECES: where, what, and what to try.

    Exit status: 0 no error, 1 errors found, 2 the command itself could not run.
    """
    findings: list[Finding] = []
    sources: dict[str, Source] = {}
    cadences = ""
    for path in pieces:
        loaded, found = _judged(path, tonic)
        findings += found
        sources |= loaded.sources
        cadences += _cadences(loaded)
    findings = in_order(findings)
    if form == "json":
        click.echo(report.as_json(findings, len(pieces)))
    else:
        if findings:
            click.echo(report.as_text(findings, sources))
        if cadences:
            click.echo(cadences)
        click.echo(report.summary(findings, len(pieces)))
    sys.exit(status(findings, strict))


def _kinds(_context: object, _option: object, value: str) -> tuple[str, ...]:
    chosen = tuple(dict.fromkeys(part.strip() for part in value.split(",") if part.strip()))
    for kind in chosen:
        if kind not in KINDS:
            raise click.BadParameter(f"'{kind}' is not one of {', '.join(KINDS)}")
    if not chosen:
        raise click.BadParameter(f"name at least one of {', '.join(KINDS)}")
    return chosen


@cli.command()
@PIECES
@TO
@click.option(
    "--only",
    "kinds",
    callback=_kinds,
    default=",".join(KINDS),
    show_default=True,
    help="What to write: one or more, parted by commas.",
)
@click.option("--png", is_flag=True, help="Also write each page as a picture.")
@PAPER
@click.option(
    "--names",
    type=click.Choice(NAMES),
    default="sargam",
    show_default=True,
    help="What stands under the notes.",
)
@click.option(
    "--signature",
    type=click.Choice(SIGNATURES),
    default="nearest",
    show_default=True,
    help="The key signature: the standard one nearest to the mode, the mode's own, or none.",
)
@TONIC
@click.option("--strict", is_flag=True, help="Exit with 1 for warnings too.")
def arrange(
    pieces: tuple[Path, ...],
    folder: Path,
    kinds: tuple[str, ...],
    png: bool,
    paper: str,
    names: str,
    signature: str,
    tonic: str | None,
    strict: bool,
) -> None:
    """Write MIDI, MusicXML, the lead sheet, parts and score of PIECES into a folder for each.

    A piece that cannot be read whole gets findings and no files, and its old files stay as they
    are. A piece with other errors is written all the same, so that it can be heard and seen while
    it is mended, and the exit status is 1.
    """
    targets: dict[str, Path] = {}
    for path in pieces:
        if not path.stem.strip("."):
            raise click.UsageError(f"{path} has no name of its own to write under")
        if path.stem in targets and targets[path.stem] != path:
            where = folder / path.stem
            raise click.UsageError(f"{targets[path.stem]} and {path} would both write to {where}")
        targets[path.stem] = path
    from cyclechart.write.outputs import write_outputs
    from cyclechart.write.papers import PAPERS, Look

    look = Look(PAPERS[paper], names, png, signature)
    findings: list[Finding] = []
    sources: dict[str, Source] = {}
    cadences = ""
    for path in _shown(list(targets.values())):
        loaded, found = _judged(path, tonic)
        findings += found
        sources |= loaded.sources
        cadences += _cadences(loaded)
        if loaded.piece is None or any(f.severity == "error" for f in loaded.findings):
            continue
        try:
            piece = as_taken(loaded.piece, found)
            written, told = write_outputs(piece, folder / path.stem, path.stem, kinds, look)
        except OSError as error:
            raise cannot(error, folder / path.stem) from error
        for output in written:
            click.echo(output)
        for sentence in told:
            click.echo(sentence, err=True)
    if findings:
        click.echo(report.as_text(in_order(findings), sources), err=True)
    if cadences:
        click.echo(cadences, err=True)
    click.echo(report.summary(findings, len(targets)), err=True)
    sys.exit(status(findings, strict))


def _shown(paths: list[Path]) -> Any:
    """The paths, with progress on stderr where there is more than one and a person watches."""
    if len(paths) < 2 or not sys.stderr.isatty():
        return paths
    from rich.console import Console
    from rich.progress import track

    return track(paths, "arranging", console=Console(stderr=True), transient=True)


@cli.command()
@click.argument("rule", required=False)
def why(rule: str | None) -> None:
    """Explain RULE with a wrong and a right example; without RULE, list the rules."""
    texts = help_texts()
    if rule is None:
        for name, text in texts.items():
            click.echo(f"{name}: {text.splitlines()[0]}")
        return
    if rule not in texts:
        raise click.UsageError(_no_such("rule", rule, texts))
    click.echo(f"{rule} {texts[rule]}")


@cli.command()
@click.argument("name")
@click.option("--tonic", help="The letter of Sa; C without it, or the piece's own.")
@click.option(
    "--to",
    "folder",
    type=click.Path(file_okay=False, path_type=Path),
    help="Also write a mode's card into this folder, as PDF and PNG.",
)
def show(name: str, tonic: str | None, folder: Path | None) -> None:
    """Show a mode, a cycle or a drum stroke by NAME; or what a piece uses, by its file.

    A mode's card says what is near to it in the catalogue, and whether it is new.

    Modes and cycles come from the catalogue or from ./shared. Strokes may be run together as in a
    line (tirakita), or stand in cells of a beat each ("dha tirakita").
    """
    from cyclechart.theory.spelling import Tonic
    from cyclechart.write.cards import look_up

    given = letter_of(tonic) if tonic is not None else None
    letter = given or Tonic("C")
    if name.lower().endswith((".yaml", ".yml")):
        found, letter = _used_by(Path(name), given)
    else:
        try:
            found = look_up(name, letter, Path.cwd())
        except OSError as error:
            raise cannot(error, Path("shared")) from error
    if found.findings:
        click.echo(report.as_text(in_order(found.findings), found.sources), err=True)
    if found.texts:
        click.echo("\n\n".join(found.texts))
    elif not found.findings:
        raise click.UsageError(_no_such("mode, cycle or drum stroke", name, found.known))
    if folder is not None and found.mode is None:
        raise click.UsageError(f"only a mode's card is written, and '{name}' is no mode")
    if folder is not None and found.mode is not None:
        from cyclechart.write.mode_page import write_card

        try:
            written, kept = write_card(found.mode, letter, folder)
        except OSError as error:
            raise cannot(error, folder) from error
        for path in written:
            click.echo(path)
        for sentence in kept:
            click.echo(sentence, err=True)
    sys.exit(status(found.findings, strict=False))


def _used_by(file: Path, tonic: Tonic | None) -> tuple[Found, Tonic]:
    """The cards of a piece's mode and cycles, with what is wrong in the piece's file."""
    from cyclechart.catalog.library import Library
    from cyclechart.theory.spelling import Tonic
    from cyclechart.write.cards import Found, of_piece

    try:
        loaded = load(file, RULE_NAMES)
        library = Library.beside(file.parent)
    except OSError as error:
        raise cannot(error, file) from error
    piece = loaded.piece
    if piece is None:
        nothing = Found([], [], list(loaded.findings), loaded.sources)
        return nothing, Tonic("C")
    found = of_piece(piece, library, tonic)
    wrong = replace(found, findings=list(loaded.findings), sources=loaded.sources)
    return wrong, tonic or piece.tonic


cli.add_command(backing)
cli.add_command(rehearse)
cli.add_command(live)
cli.add_command(book)
cli.add_command(cadence)
cli.add_command(drill)
cli.add_command(modes)
cli.add_command(tonics)


@cli.command()
def schema() -> None:
    """Print the JSON Schema of a piece file, for editors that check as you type."""
    import json

    from cyclechart.piece.shape import schema as made

    click.echo(json.dumps(made(), indent=2))


def _no_such(what: str, name: str, known: Any) -> str:
    from cyclechart.text.faults import clip

    return f"there is no {what} '{clip(name)}'{hint(name, known)}"
