"""The command ``pivot``: two modes side by side, and phrases that lead from one to the other."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cyclechart.commands.common import FORMATS, cannot, letter_of
from cyclechart.commands.completion import completing

if TYPE_CHECKING:
    from cyclechart.catalog.library import Library
    from cyclechart.theory.mode import Mode
    from cyclechart.theory.pivots import Pivot
    from cyclechart.theory.spelling import Tonic
    from cyclechart.write.terminal.pivot_card import PlacedPair

MOST_OTHERS = 4
"""The most other letters for the second Sa that are named."""


@click.command()
@click.argument("first", shell_complete=completing("mode"))
@click.argument("second", shell_complete=completing("mode"))
@click.option(
    "--tonic",
    default="C",
    show_default=True,
    help="The letter of the first mode's Sa.",
    shell_complete=completing("tonic"),
)
@click.option("--to-tonic", help="The letter of the second mode's Sa.  [default: the first's]")
@click.option(
    "--most",
    type=click.IntRange(min=1),
    default=4,
    show_default=True,
    help="The most phrases to print.",
)
@click.option("--format", "form", type=FORMATS, default="text", help="The format of the answer.")
def pivot(first: str, second: str, tonic: str, to_tonic: str | None, most: int, form: str) -> None:
    """Compare the modes FIRST and SECOND for a change from one to the other in mid-piece.

    Printed are the tones of both, those that go and come, and pivot phrases: short phrases that are
    legal in both modes and end where both may rest. The modes' own phrases come first. Each stands
    in the sargam of both and in letters.

    Exit status: 0 phrases found, 1 none found, 2 the command itself could not run.
    """
    from cyclechart.catalog.library import Library
    from cyclechart.text.excerpts import clip
    from cyclechart.theory.pivots import ModePair, shift_between
    from cyclechart.write.terminal.pivot_card import PlacedPair, pivot_card

    before = letter_of(tonic)
    after = before if to_tonic is None else letter_of(to_tonic)
    try:
        library = Library.beside(Path.cwd())
        modes = _named(library, first), _named(library, second)
    except OSError as error:
        raise cannot(error, Path("shared")) from error
    shift = shift_between(before.semitone, after.semitone)
    placed = PlacedPair(ModePair(*modes, shift), (before, after))
    pivots = placed.pair.pivots()
    if form == "json":
        _print_json(placed, pivots[:most])
    else:
        others = [] if pivots else _other_letters(*modes, before)
        click.echo("\n".join(pivot_card(placed, pivots, others, most)))
        there = f", tonic: {after}" if shift else ""
        click.echo(f"  In a form: {{play: LINE, mode: {clip(second)}{there}}}")
    sys.exit(0 if pivots else 1)


def _named(library: Library, name: str) -> Mode:
    """Return a mode by name; raise a usage error where there is none."""
    from cyclechart.finding import Spot

    found, findings = library.mode(name, Spot("MODE", 1, 1, max(1, len(name))))
    if found is None:
        near = [suggestion for finding in findings for suggestion in finding.tries]
        hint = f"; did you mean {', '.join(near)}?" if near else ""
        raise click.UsageError(f"{findings[0].message}{hint}")
    return found


def _other_letters(first: Mode, second: Mode, before: Tonic) -> list[tuple[Tonic, int]]:
    """Return the letters of the second Sa on which there are most pivots, with their number."""
    from cyclechart.theory.pivots import ModePair, shift_between
    from cyclechart.theory.spelling import TONICS

    found = []
    for tonic in TONICS:
        shift = shift_between(before.semitone, tonic.semitone)
        count = len(ModePair(first, second, shift).pivots())
        if count:
            found.append((tonic, count))
    return sorted(found, key=lambda one: -one[1])[:MOST_OTHERS]


def _print_json(placed: PlacedPair, pivots: list[Pivot]) -> None:
    import json

    from cyclechart.theory.tones import SARGAM, show_path

    pair = placed.pair
    answer = {
        "modes": [pair.first.name, pair.second.name],
        "tonics": [str(tonic) for tonic in placed.tonics],
        "common": [
            {
                "letter": placed.letter(tone),
                "first": SARGAM[tone],
                "second": SARGAM[(tone - pair.shift) % 12],
                "cents": round(pair.cents_moved(tone), 1),
            }
            for tone in pair.common
        ],
        "goes": [SARGAM[tone] for tone in pair.leaving],
        "comes": [SARGAM[(tone - pair.shift) % 12] for tone in pair.coming],
        "pivots": [
            {
                "first": show_path(one.first),
                "second": show_path(one.second),
                "letters": " ".join(placed.letters(one.first)),
                "from": one.origin,
                "mode": {"first": pair.first.name, "second": pair.second.name}.get(one.owner),
            }
            for one in pivots
        ],
    }
    click.echo(json.dumps(answer, indent=2, ensure_ascii=False))
