"""The commands: parse options, call, print. What a command needs alone it imports when it runs."""

from __future__ import annotations

import io
import sys
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cyclechart import __version__
from cyclechart.catalog.library import Library
from cyclechart.finding import Finding, Spot
from cyclechart.piece.load import Loaded, load
from cyclechart.rules.listing import RULE_NAMES, help_texts, in_order, judge
from cyclechart.text.source import Source
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import parse_exact, show_beats, show_exact
from cyclechart.write import report

if TYPE_CHECKING:
    from cyclechart.theory.cadence import Question

REPORT_BUGS = (
    "This is a mistake in cyclechart, not in your piece. Please report it with the piece file and "
    "the lines above. The files written before it are whole; the piece it happened in has its old "
    "ones."
)
KINDS = ("midi", "musicxml", "chart")
FORMATS = click.Choice(["text", "json"])

PIECES = click.argument(
    "pieces",
    nargs=-1,
    required=True,
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
)


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


class CannotRun(click.ClickException):
    """The command itself could not run: the file system said no."""

    exit_code = 2


def _cannot(error: OSError, path: Path) -> CannotRun:
    """Which file it was about, and what the system says."""
    return CannotRun(f"{error.filename or path}: {error.strerror or error}")


def _judged(path: Path) -> tuple[Loaded, list[Finding]]:
    """A piece read and judged: what it holds, and every finding in order."""
    try:
        loaded = load(path, RULE_NAMES)
    except OSError as error:
        raise _cannot(error, path) from error
    findings = list(loaded.findings)
    if loaded.piece is not None:
        findings += judge(loaded.piece)
    return loaded, in_order(findings)


def _status(findings: Sequence[Finding], strict: bool) -> int:
    if any(finding.counts for finding in findings):
        return 1
    warned = any(f.severity == "warning" and f.liberty is None for f in findings)
    return 1 if strict and warned else 0


@cli.command()
@PIECES
@click.option("--format", "form", type=FORMATS, default="text", help="How to print the findings.")
@click.option("--strict", is_flag=True, help="Exit with 1 for warnings too.")
def check(pieces: tuple[Path, ...], form: str, strict: bool) -> None:
    """Say what is wrong in PIECES: where, what, and what to try.

    Exit status: 0 no error, 1 errors found, 2 the command itself could not run.
    """
    findings: list[Finding] = []
    sources: dict[str, Source] = {}
    for path in pieces:
        loaded, found = _judged(path)
        findings += found
        sources |= loaded.sources
    findings = in_order(findings)
    if form == "json":
        click.echo(report.as_json(findings, len(pieces)))
    else:
        if findings:
            click.echo(report.as_text(findings, sources))
        click.echo(report.summary(findings, len(pieces)))
    sys.exit(_status(findings, strict))


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
@click.option(
    "--to",
    "folder",
    type=click.Path(file_okay=False, path_type=Path),
    default=Path("output"),
    show_default=True,
    help="Where each piece gets a folder of its own.",
)
@click.option(
    "--only",
    "kinds",
    callback=_kinds,
    default=",".join(KINDS),
    show_default=True,
    help="What to write: one or more, parted by commas.",
)
@click.option("--png", is_flag=True, help="Also write each page of the chart as a picture.")
@click.option("--strict", is_flag=True, help="Exit with 1 for warnings too.")
def arrange(
    pieces: tuple[Path, ...], folder: Path, kinds: tuple[str, ...], png: bool, strict: bool
) -> None:
    """Write MIDI, MusicXML and a lead sheet of PIECES into a folder for each.

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

    findings: list[Finding] = []
    sources: dict[str, Source] = {}
    for path in _shown(list(targets.values())):
        loaded, found = _judged(path)
        findings += found
        sources |= loaded.sources
        if loaded.piece is None or any(f.severity == "error" for f in loaded.findings):
            continue
        try:
            written = write_outputs(loaded.piece, folder / path.stem, path.stem, kinds, png)
        except OSError as error:
            raise _cannot(error, folder / path.stem) from error
        for output in written:
            click.echo(output)
    if findings:
        click.echo(report.as_text(in_order(findings), sources), err=True)
    click.echo(report.summary(findings, len(targets)), err=True)
    sys.exit(_status(findings, strict))


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
@click.option("--tonic", default="C", show_default=True, help="The letter of Sa.")
def show(name: str, tonic: str) -> None:
    """Show a mode or a cycle by NAME, from the catalogue or from ./shared."""
    from cyclechart.piece.heading import read_tonic
    from cyclechart.write.cards import look_up

    letter = read_tonic(tonic)
    if letter is None:
        raise click.BadParameter(f"'{tonic}' is no letter name; write D, Eb or F#")
    try:
        found = look_up(name, letter, Path.cwd())
    except OSError as error:
        raise _cannot(error, Path("shared")) from error
    if found.findings:
        click.echo(report.as_text(in_order(found.findings), found.sources), err=True)
    if found.texts:
        click.echo("\n\n".join(found.texts))
    elif not found.findings:
        raise click.UsageError(_no_such("mode or cycle", name, found.known))
    sys.exit(_status(found.findings, strict=False))


EXACT = "2, 2 1/2 or 5/2 beats"


def _beats(_context: object, option: click.Parameter, value: str | None) -> Fraction | None:
    if value is None:
        return None
    try:
        beats = parse_exact(value)
    except ValueError as error:
        raise click.BadParameter(str(error)) from error
    least = 1 if option.name == "begins" else 0
    if not least <= beats <= 1000:
        raise click.BadParameter(f"{show_exact(beats)} is not from {least} to 1000")
    return beats


@cli.command()
@click.argument("cycle")
@click.option("--phrase", help='What is said: its beats (5), or its text ("P m GR G").')
@click.option(
    "--room", callback=_beats, help="Beats left before sam, to be filled, in place of a phrase."
)
@click.option(
    "--times", type=click.IntRange(1, 27), default=3, show_default=True, help="Statements."
)
@click.option("--gap", callback=_beats, help=f"Added after each statement: {EXACT}.")
@click.option("--begins", callback=_beats, help="The beat it begins on.")
@click.option("--body", callback=_beats, default="0", help="Beats said before the statements.")
@click.option("--rounds", type=click.IntRange(1, 9), default=1, help="3 for a chakradar.")
@click.option("--round-gap", callback=_beats, help="Added after each round.")
@click.option("--early", callback=_beats, default="0", help="Anagat: so much before sam.")
@click.option(
    "--within", type=click.IntRange(1, 256), default=4, show_default=True, help="Cycles at most."
)
@click.option(
    "--most",
    type=click.IntRange(1, 10_000),
    default=20,
    show_default=True,
    help="Answers to print.",
)
@click.option("--format", "form", type=FORMATS, default="text")
def cadence(
    cycle: str, phrase: str | None, room: Fraction | None, most: int, form: str, **asked: Any
) -> None:
    """Find cadences (tihai, nauhakka, chakradar) that land on the first beat of CYCLE.

    All answers, the plainest first: whole-beat gaps before half-beat and finer ones, small gaps,
    beginning on sam, few cycles.
    """
    from cyclechart.piece.phrases import statement_from
    from cyclechart.theory.cadence import Question, fill_room, solve
    from cyclechart.write import cadences

    found = _cycle_named(cycle)
    if (phrase is None) == (room is None):
        raise click.UsageError("give either --phrase or --room")
    stopped = False
    if room is not None:
        answers = fill_room(room, found, asked["times"])
    else:
        statement, wrong = statement_from(phrase or "")
        if statement is None:
            click.echo(report.as_text(wrong, {}), err=True)
            sys.exit(1)
        question = Question(statement, **asked)
        solved = solve(question, found)
        answers, stopped = solved.found, solved.stopped
        if not answers:
            _no_cadence(question, found)
    if form == "json":
        import json

        click.echo(json.dumps(cadences.as_objects(answers), ensure_ascii=False, indent=2))
    elif answers:
        click.echo(cadences.as_table(answers[:most], found))
        if len(answers) > most:
            click.echo(f"{len(answers) - most} more answers: --most {len(answers)} shows all.")
    if stopped:
        click.echo("The search stopped early; give a gap or a beginning to narrow it.", err=True)
    sys.exit(0 if answers else 1)


def _cycle_named(name: str) -> Cycle:
    try:
        library = Library.beside(Path.cwd())
    except OSError as error:
        raise _cannot(error, Path("shared")) from error
    cycle, findings = library.cycle(name, Spot("CYCLE", 1, 1, len(name)))
    if cycle is None:
        tries = [suggestion for finding in findings for suggestion in finding.tries]
        hint = f"; did you mean {', '.join(tries)}?" if tries else ""
        raise click.UsageError(f"{findings[0].message if findings else 'unsound cycle'}{hint}")
    return cycle


def _no_cadence(question: Question, cycle: Cycle) -> None:
    from cyclechart.theory.cadence import nearest_length, why_none

    length = show_exact(question.statement.length)
    within = f"{question.within} cycle{'s' if question.within > 1 else ''}"
    click.echo(f"No cadence of {length} beats lands within {within} of {cycle.name}.", err=True)
    reason = why_none(question, cycle)
    if reason:
        click.echo(f"{reason[0].upper()}{reason[1:]}.", err=True)
    nearest = nearest_length(question, cycle)
    if nearest is not None:
        click.echo(f"A phrase of {show_beats(nearest)} has one.", err=True)


@cli.command()
def schema() -> None:
    """Print the JSON Schema of a piece file, for editors that check as you type."""
    import json

    from cyclechart.piece.shape import schema as made

    click.echo(json.dumps(made(), indent=2))


def _no_such(what: str, name: str, known: Any) -> str:
    from cyclechart.text.faults import clip, nearest

    close = nearest(name, known)
    hint = f"; did you mean {', '.join(close)}?" if close else ""
    return f"there is no {what} '{clip(name)}'{hint}"
