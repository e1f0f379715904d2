"""A phrase given on its own, outside a piece: by its beats, or as text in sargam or strokes."""

from __future__ import annotations

from fractions import Fraction

from cyclechart.catalog.strokes import strokes
from cyclechart.finding import Finding, Spot
from cyclechart.text import faults
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import SARGAM_SCRIPT
from cyclechart.text.source import Passage, Source
from cyclechart.text.timing import time_line
from cyclechart.theory.cadence import Statement
from cyclechart.theory.exact import parse_exact, show_exact

LONGEST = Fraction(1000)
"""Beats. A phrase longer than this is a slip."""


def statement_from(text: str, name: str = "--phrase") -> tuple[Statement | None, list[Finding]]:
    """A statement from ``5``, ``2 1/2`` or ``P m GR G``; findings where it is none.

    A phrase by its beats is taken to strike its last beat; one written out has the strokes it has.
    """
    try:
        beats = parse_exact(text)
    except ValueError:
        return _written(text, name)
    if not 0 < beats <= LONGEST:
        spot = Spot(name, 1, 1, len(text))
        what = f"a phrase lasts more than 0 and up to {LONGEST} beats, not {show_exact(beats)}"
        return None, [faults.wrong_value(spot, what)]
    return Statement.of_beats(beats), []


def _written(text: str, name: str) -> tuple[Statement | None, list[Finding]]:
    passage = Passage(Source.of(name, text), text, 0)
    found: list[Finding] = []
    for script in (SARGAM_SCRIPT, strokes().script()):
        items, wrong = read_line(passage, script)
        timed, late = time_line(items, passage)
        if wrong or late:
            found = found or [*wrong, *late]
            continue
        if not timed.strikes:
            what = "a phrase strikes at least one note"
            return None, [faults.wrong_value(passage.spot(0, len(text)), what)]
        onsets = tuple(strike.start for strike in timed.strikes)
        return Statement(timed.length, onsets), []
    return None, found
