"""A phrase given on its own, outside a piece, as text in sargam or strokes."""

from __future__ import annotations

from fractions import Fraction

from cyclechart.catalog.strokes import strokes
from cyclechart.finding import Finding
from cyclechart.text import reading_rules
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import SARGAM_SCRIPT
from cyclechart.text.source import PlacedText, Source
from cyclechart.text.timing import time_line
from cyclechart.theory.cadence import Statement


def statement_from(text: str, name: str) -> tuple[Statement | None, list[Finding]]:
    """The statement that ``P m GR G`` is, with the strokes it has; findings where it is none.

    ``name`` stands in the findings for a file's.
    """
    onsets, length, found = _timed(text, name)
    if not found and not onsets:
        spot = Source.of(name, text).spot(0, len(text))
        found = [reading_rules.wrong_value(spot, "a phrase strikes at least one note")]
    return (None, found) if found else (Statement(length, onsets), [])


def length_from(text: str, name: str) -> tuple[Fraction | None, list[Finding]]:
    """The beats that a text takes, whatever it strikes; findings where it cannot be read."""
    _, length, found = _timed(text, name)
    return (None, found) if found else (length, [])


def _timed(text: str, name: str) -> tuple[tuple[Fraction, ...], Fraction, list[Finding]]:
    """Onsets and length in the script that it is written in: sargam if it may be either.

    A text that is neither is taken for the one that it has fewer faults in.
    """
    passage = PlacedText(Source.of(name, text), text, 0)
    least: list[Finding] = []
    for script in (SARGAM_SCRIPT, strokes().script()):
        items, wrong = read_line(passage, script)
        timed, late = time_line(items, passage)
        found = [*wrong, *late]
        if not found:
            return tuple(strike.start for strike in timed.strikes), timed.length, []
        if not least or len(found) < len(least):
            least = found
    return (), Fraction(0), least
