"""Hints between the cells of a text: which cycle begins at a ``||``, and where a line ends."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from cyclechart.editor.line_facts import place_words
from cyclechart.finding import Spot
from cyclechart.piece.line import Line
from cyclechart.piece.model import ANY_CYCLE, Piece
from cyclechart.rules.rule import place_of

_ENDS = {"lands": "lands", "loops": "loops", "early": "early", "late": "late"}


class Hint(NamedTuple):
    """A hint right after a place of the file."""

    spot: Spot
    text: str


def hints(piece: Piece) -> Iterator[Hint]:
    """Yield the hints of every line that has a text of its own."""
    for line in piece.lines.values():
        if line.derivation is None and not line.parts and not line.cadences:
            yield from _of_line(piece, line)


def _of_line(piece: Piece, line: Line) -> Iterator[Hint]:
    cycle = next(iter(piece.cycles_of(line.name)), piece.cycle)
    if line.free or cycle is ANY_CYCLE or not line.notes:
        return
    known: set[tuple[int, int]] = set()
    for bar in line.section_lines:
        place = place_of(piece, line, bar.offset)
        where = (bar.spot.line, bar.spot.column)
        if (
            bar.double
            and place.cycle is not None
            and where not in known
            and bar.offset < line.length
        ):
            known.add(where)
            yield Hint(bar.spot, str(place.cycle))
    last = line.notes[-1]
    how = _ENDS.get(line.standing(cycle).shape, "misses")
    where_last = place_words(place_of(piece, line, last.start))
    yield Hint(last.spot, f"{how}: {where_last}")
