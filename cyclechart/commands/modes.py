"""The command ``modes``: finds modes by name, by tones or by what a line fits."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cyclechart.commands.common import FORMATS, CannotRun, cannot

if TYPE_CHECKING:
    from cyclechart.catalog.search import Match

DEFERS = "Grammars differ by teacher and lineage; your own teacher's goes before these."


@click.command()
@click.argument("name", required=False)
@click.option("--tones", help='Tones that it has: "S R G P D".')
@click.option("--fits", help='A line that it is to fit, in sargam: "G R S D, S R G".')
@click.option("--most", type=click.IntRange(min=1), default=12, show_default=True, help="Rows.")
@click.option("--format", "form", type=FORMATS, default="text", help="How to print them.")
def modes(name: str | None, tones: str | None, fits: str | None, most: int, form: str) -> None:
    """Find modes by NAME in any spelling, a jazz scale's among them, by tones, or by a line.

    The likeliest stand first, each with the reasons. What is asked together holds together. The
    modes are the band's own in ./shared, the catalogue's and the 72 melas.

    Exit status: 0 something found, 1 nothing found, 2 the command itself could not run.
    """
    from cyclechart.catalog.library import Library
    from cyclechart.catalog.search import by_line, by_name, by_tones, entries, together
    from cyclechart.write import report

    if name is None and tones is None and fits is None:
        raise click.UsageError('say a name, --tones "S R G P D" or --fits "G R S D, S R G"')
    try:
        library = Library.beside(Path.cwd())
    except OSError as error:
        raise cannot(error, Path("shared")) from error
    known, wrong = entries(library)
    searches = []
    if name is not None:
        searches.append(by_name(known, name))
    if tones is not None:
        asked = frozenset(pitch % 12 for breath in _breaths(tones, "--tones") for pitch in breath)
        searches.append(by_tones(known, asked))
    if fits is not None:
        searches.append(by_line(known, _breaths(fits, "--fits")))
    if library.findings or wrong:
        sources = {source.file: source for source in library.sources}
        click.echo(report.as_text([*library.findings, *wrong], sources), err=True)
    found = together(searches)
    if form == "json":
        _print_json(found[:most])
    else:
        _print_text(found, most)
    if not found:
        raise SystemExit(1)


def _breaths(text: str, option: str) -> list[list[int]]:
    """The pitches of a line of sargam in runs without a rest between."""
    from cyclechart.text.reading import read_line
    from cyclechart.text.scripts import SARGAM_SCRIPT
    from cyclechart.text.source import Passage, Source
    from cyclechart.text.timing import time_line
    from cyclechart.write import report

    source = Source.of(option, text)
    passage = Passage(source, text, 0)
    items, wrong = read_line(passage, SARGAM_SCRIPT)
    timed, late = time_line(items, passage)
    if wrong or late:
        raise CannotRun(report.as_text([*wrong, *late], {option: source}))
    breaths: list[list[int]] = []
    end: Fraction | None = None
    for strike in timed.strikes:
        if not isinstance(strike.value, int):
            continue
        if strike.start != end:
            breaths.append([])
        breaths[-1].append(strike.value)
        end = strike.start + strike.length
    if not breaths:
        raise click.BadParameter("there is no tone in it", param_hint=f"'{option}'")
    return breaths


def _print_json(found: list[Match]) -> None:
    import json

    rows = [
        {"mode": one.key, "score": round(one.score, 3), "reasons": list(one.reasons)}
        for one in found
    ]
    click.echo(json.dumps(rows, indent=2, ensure_ascii=False))


def _print_text(found: list[Match], most: int) -> None:
    from cyclechart.theory.tones import show_path

    if not found:
        click.echo("No mode is found.")
        return
    for one in found[:most]:
        paths = f"{show_path(one.mode.ascent)} / {show_path(one.mode.descent)}"
        click.echo(f"{one.score:.2f}  {one.key}: {paths}")
        click.echo(f"      {'; '.join(one.reasons)}")
    if len(found) > most:
        click.echo(f"{len(found) - most} more: --most {len(found)} shows them all")
    click.echo(DEFERS)
