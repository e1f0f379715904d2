"""The command ``mend``: does in the file of a piece what ``check`` would try."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from cyclechart.commands.common import CannotRun, cannot, no_such, status
from cyclechart.commands.completion import completing
from cyclechart.commands.reporting import print_findings, print_summary


@click.command()
@click.argument("piece", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--rule",
    "rules",
    multiple=True,
    metavar="NAME",
    shell_complete=completing("rule"),
    help="Mend the findings of this rule alone, also where they are no errors; may be repeated.",
)
@click.option("--write", is_flag=True, help="Write the file; else only the difference is shown.")
def mend(piece: Path, rules: tuple[str, ...], write: bool) -> None:
    """Mend PIECE: do what check would try, the first thing for each error that can be done.

    The difference is shown; nothing is written without --write. What makes the piece worse is taken
    back and named. Findings that a liberty covers stay. What is left is printed as check prints it.

    Exit status: 0 no error left, 1 errors left, 2 the command itself could not run.
    """
    from cyclechart.draft.mending import mended
    from cyclechart.rules.judge import RULE_NAMES
    from cyclechart.text.reading_rules import READING, name_of
    from cyclechart.write.terminal.colours import painter_for
    from cyclechart.write.terminal.difference import as_text

    known = [*RULE_NAMES, *map(name_of, READING)]
    for rule in rules:
        if rule not in known:
            raise click.BadParameter(no_such("rule", rule, known), param_hint="--rule")
    data = _bytes_of(piece)
    result = mended(str(piece), data, piece.parent, rules)
    if result.data != data:
        click.echo(as_text(str(piece), data, result.data, painter_for(sys.stdout)), nl=False)
        if write:
            _write(piece, data, result.data)
    for one in result.taken_back:
        spot = one.finding.spot
        words = one.suggestion.text.split("\n")[0]
        where = f"{spot.file}:{spot.line}:{spot.column}: {one.finding.rule}"
        click.echo(f"{where}: '{words}' was taken back: {one.why}", err=True)
    print_findings(result.findings, result.sources, advice=False)
    count = len({one.finding for one in result.done})
    done = f"{count} {'finding' if count == 1 else 'findings'} mended"
    unwritten = "" if write or not count else "; nothing is written without --write"
    more = "; there is more to try: mend it again" if result.stopped else ""
    click.echo(f"{done}{unwritten}{more}", err=True)
    print_summary(result.findings, 1)
    sys.exit(status(result.findings, strict=False))


def _bytes_of(piece: Path) -> bytes:
    from cyclechart.text.source import bytes_of

    try:
        return bytes_of(piece)
    except OSError as error:
        raise cannot(error, piece) from error


def _write(piece: Path, before: bytes, after: bytes) -> None:
    """Write the file whole in its place; refuse one that has changed."""
    from cyclechart.write.files.atomic import rewrite

    place = piece.resolve()

    def refuse_changed() -> None:
        if place.read_bytes() != before:
            raise CannotRun(f"{piece}: the file has changed meanwhile, so nothing was written")

    try:
        rewrite(place, after, before_moving=refuse_changed)
    except OSError as error:
        raise cannot(error, piece) from error
