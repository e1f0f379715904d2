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
    """Return the statement of a phrase such as ``P m GR G``, or the findings on its text.

    ``name`` stands in the findings for a file's.
    """
    onsets, length, found = _timed(text, name)
    if not found and not onsets:
        spot = Source.of(name, text).spot(0, len(text))
        found = [reading_rules.wrong_value(spot, "a phrase must have at least one note")]
    return (None, found) if found else (Statement(length, onsets), [])


def length_from(text: str, name: str) -> tuple[Fraction | None, list[Finding]]:
    """Return the length of a text in beats, with or without notes, or the findings on it."""
    _, length, found = _timed(text, name)
    return (None, found) if found else (length, [])


def _timed(text: str, name: str) -> tuple[tuple[Fraction, ...], Fraction, list[Finding]]:
    """Return onsets and length, read as sargam or as strokes: as sargam where it can be both.

    Where it is neither, the script with fewer faults is taken.
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
