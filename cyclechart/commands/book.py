"""The command ``book``: a set list as books, for each player, the leader and the whole band."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from cyclechart.commands.common import (
    HEADING,
    PAPER,
    TO,
    as_taken,
    cannot,
    hint,
    status,
)
from cyclechart.commands.completion import completing
from cyclechart.commands.reporting import (
    ADVICE,
    VERBOSE,
    counted_files,
    print_findings,
    print_folder,
    print_sentences,
    print_summary,
    progress,
)

if TYPE_CHECKING:
    from cyclechart.finding import Finding
    from cyclechart.piece.set.gig import Gig
    from cyclechart.piece.set.setlist import Setlist
    from cyclechart.text.source import Source


def _also(_context: object, _option: object, value: str) -> tuple[str, ...]:
    chosen = tuple(part.strip() for part in value.split(",") if part.strip())
    for name in chosen:
        if name not in ("leader", "grid", "none"):
            raise click.BadParameter(f"'{name}' is not one of leader, grid, none")
    return () if "none" in chosen else chosen


@click.command()
@click.argument("setlist", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@TO
@PAPER
@HEADING
@click.option(
    "--player",
    "players",
    multiple=True,
    metavar="NAME",
    help="Only the book of this player.",
    shell_complete=completing("player"),
)
@click.option(
    "--also",
    callback=_also,
    default="leader,grid",
    show_default=True,
    metavar="BOOKS",
    help="More books of the whole band: leader, grid, both separated by a comma, or none.",
)
@click.option(
    "--leader",
    type=click.Choice(["lead-sheets", "scores"]),
    help="The leader's book has the lead sheet of each tune, or its score.",
)
@click.option(
    "--order-by-hour",
    is_flag=True,
    help="Only print the set in the order of its modes' hours; nothing is written.",
)
@ADVICE
@VERBOSE
@click.option("--strict", is_flag=True, help="Exit with status 1 for warnings too.")
def book(
    setlist: Path,
    folder: Path,
    paper: str,
    heading: str,
    players: tuple[str, ...],
    also: tuple[str, ...],
    leader: str | None,
    order_by_hour: bool,
    advice: bool,
    verbose: bool,
    strict: bool,
) -> None:
    """Write books of SETLIST: for each player the set list, the modes and cycles, and their charts.

    One more has all charts; one is the leader's, and one has grids for who reads no staff. A chart
    of two pages opens on a left-hand page. A piece that cannot be read completely is left out.
    Charts that have not changed are not drawn again.

    Exit status: 0 no error, 1 errors found, 2 the command itself could not run.
    """
    from cyclechart.arrange.set_book import gig_of, set_book_of
    from cyclechart.piece.set.setlist import load_setlist
    from cyclechart.rules.judge import RULE_NAMES, in_order
    from cyclechart.rules.set.time_and_tuning import judge_set

    if not setlist.stem.strip("."):
        raise click.UsageError(f"{setlist} has no file name to name its folder after")
    try:
        read, findings, sources = load_setlist(setlist, RULE_NAMES)
    except OSError as error:
        raise cannot(error, setlist) from error
    if order_by_hour:
        _print_order(read, findings, sources)
    pieces = 0
    if read is not None:
        gig = gig_of(read)
        judged = _judged(read)
        pieces = len(read.loaded)
        findings = [*findings, *judge_set(gig), *judged]
        gig = _as_taken(gig, judged)
        if gig.tunes:
            made = set_book_of(gig)
            missing = [(tune.number, Path(tune.file).name) for tune in read.tunes
                       if not tune.is_ready]  # fmt: skip
            from cyclechart.produce.set_book import names_of, write_book
            from cyclechart.write.files.paper_sizes import PAPERS

            for name in players:
                _known(name, names_of(made))
            where = folder / setlist.stem
            try:
                with progress("drawing charts") as show:
                    written = write_book(
                        made,
                        where,
                        setlist.stem,
                        paper=PAPERS[paper],
                        players=players,
                        leader="score" if leader == "scores" else "lead sheet",
                        heading=heading,
                        also=() if players else (*also, *(["leader"] if leader else [])),
                        missing=missing,
                        show=show,
                    )
            except OSError as error:
                raise cannot(error, where) from error
            what = counted_files(len(written.files))
            print_folder(where, what, written.files, verbose=verbose)
            print_sentences({setlist.stem: written.sentences})
    # What is about the set as a whole comes first: it is what no piece shows by itself.
    findings = sorted(in_order(findings), key=lambda one: one.spot.file != str(setlist))
    print_findings(findings, sources, advice=advice)
    print_summary(findings, pieces, advice=advice)
    sys.exit(status(findings, strict))


def _print_order(
    setlist: Setlist | None, findings: Sequence[Finding], sources: Mapping[str, Source]
) -> NoReturn:
    """Print the set's order by the hour, with the findings of reading it, and exit."""
    from cyclechart.arrange.set_book import gig_of
    from cyclechart.rules.judge import in_order
    from cyclechart.write.terminal.set_order import order_rows

    print_findings(in_order(findings), sources)
    if setlist is not None:
        for row in order_rows(gig_of(setlist)):
            click.echo(row)
    sys.exit(status(findings, strict=False))


def _judged(setlist: Setlist) -> list[Finding]:
    """The findings of the pieces, each read and judged once."""
    from cyclechart.rules.judge import findings_on

    findings: list[Finding] = []
    for loaded in setlist.loaded.values():
        findings += findings_on(loaded)
    return findings


def _as_taken(gig: Gig, findings: Sequence[Finding]) -> Gig:
    """Return the gig with only those liberties that cover a finding, for the charts list them."""
    from cyclechart.piece.set.gig import GigTune

    items = tuple(
        replace(item, piece=as_taken(item.piece, findings)) if isinstance(item, GigTune) else item
        for item in gig.items
    )
    return replace(gig, items=items)


def _known(name: str, players: Sequence[str]) -> None:
    if name not in players:
        from cyclechart.text.excerpts import clip

        near = hint(name, players) or f"; did you mean {', '.join(players)}?"
        raise click.UsageError(f"the set has no player '{clip(name)}'{near}")
