"""The command ``bring``: a tune from another program or notation, as a piece."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cyclechart.commands.common import CannotRun, cannot

if TYPE_CHECKING:
    from cyclechart.transcription.bring_tune import Brought, Wishes
    from cyclechart.transcription.cycle_choice import CycleChoice
    from cyclechart.transcription.tune import Meter

MOST_ASKED = 6
"""The most cycles that are offered for a meter."""


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--to",
    "target",
    type=click.Path(dir_okay=False, path_type=Path),
    help="The piece's file; without it FILE's name with .yaml, in this folder.",
)
@click.option("--voice", help="The voices: numbers or names with commas, or all; without it one.")
@click.option("--tune", "which", help="The number or the title of one of several tunes.")
@click.option("--tonic", help="The letter of Sa; without it guessed.")
@click.option("--mode", help="The mode; without it guessed, as `modes --fits` does.")
@click.option("--cycle", help="The cycle; without it guessed from the meter.")
def bring(
    file: Path,
    target: Path | None,
    voice: str | None,
    which: str | None,
    tonic: str | None,
    mode: str | None,
    cycle: str | None,
) -> None:
    """Write a tune as a piece: MusicXML (.musicxml, .xml, .mxl), ABC 2.1, Standard MIDI files.

    Each section becomes a line, repeats and endings the form. What is guessed is printed with its
    reason and the next best, and so is whatever could not be kept. A plain text of sargam is read
    too. No file is overwritten.

    Exit status: 0 brought, 1 the file cannot be brought, 2 the command itself could not run.
    """
    from cyclechart.transcription.bring_tune import Wishes

    place = target if target is not None else Path(f"{file.stem}.yaml")
    if place.exists() or place.is_symlink():
        raise CannotRun(f"{place} is there already; --to gives another name")
    brought = _brought(file, which, Wishes(tonic, mode, cycle, voice), place)
    _write(place, brought.text)
    click.echo(place)
    for sentence in brought.chosen:
        click.echo(sentence, err=True)
    for loss in brought.losses:
        where = f" ({loss.place})" if loss.place else ""
        click.echo(f"not kept: {loss.what}{where}", err=True)


def _brought(file: Path, which: str | None, wishes: Wishes, place: Path) -> Brought:
    """Return the piece of a file; print why and exit where there is none."""
    from cyclechart.catalog.library import Library
    from cyclechart.transcription.bring_tune import bring_tune, the_likeliest
    from cyclechart.transcription.refusal import MOST_BYTES, CannotRead
    from cyclechart.transcription.sources import tune_in

    try:
        with file.open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
        library = Library.beside(place.parent)
    except OSError as error:
        raise cannot(error, file) from error
    asked = sys.stdin.isatty() and sys.stderr.isatty()
    try:
        found = tune_in(data, file.name, which, library=library, mode=wishes.mode)
        tune = found.tune if found.tune.title else replace(found.tune, title=file.stem)
        brought = bring_tune(tune, library, wishes, _ask if asked else the_likeliest)
        _must_be_readable(brought, place)
        return brought._replace(chosen=(*found.said, *brought.chosen))
    except CannotRead as refusal:
        where = f"{refusal.place}: " if refusal.place else ""
        click.echo(f"{file}: {where}{refusal.what}", err=True)
        for number, one in enumerate(refusal.tries):
            click.echo(f"  {'or' if number else 'try'}: {one}", err=True)
        raise SystemExit(1) from refusal


def _must_be_readable(brought: Brought, place: Path) -> None:
    """Refuse a tune that is too much for a piece: too many lines, notes or beats."""
    from cyclechart.piece.load import read_piece
    from cyclechart.rules.judge import RULE_NAMES
    from cyclechart.transcription.refusal import CannotRead

    loaded = read_piece(str(place), brought.text.encode(), RULE_NAMES, place.parent)
    wrong = next((one for one in loaded.findings if one.severity == "error"), None)
    if wrong is not None:
        raise CannotRead(f"it cannot become a piece: {wrong.message}", "", "--voice 1")


def _ask(meter: Meter, fitting: Sequence[CycleChoice]) -> CycleChoice:
    """Ask on the terminal which of several cycles is meant; the likeliest is the default."""
    offered = [*fitting[: MOST_ASKED - 1], fitting[-1]]
    click.echo(f"Which cycle for {meter.name}?", err=True)
    for number, choice in enumerate(offered, start=1):
        name = choice.name or "the bar, written out"
        click.echo(f"  {number} {name} ({choice.reason})", err=True)
    picked = click.prompt(
        "Number", type=click.IntRange(1, len(offered)), default=1, show_default=True, err=True
    )
    return offered[picked - 1]


def _write(place: Path, text: str) -> None:
    from cyclechart.write.files.atomic import put_new

    try:
        put_new(place, text.encode())
    except OSError as error:
        raise cannot(error, place) from error
