"""Hints between the cells of a text: which cycle begins at a ``||``, and where a line ends."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from cyclechart.editor.line_facts import place_words
from cyclechart.finding import Spot
from cyclechart.piece.line import Line
from cyclechart.piece.model import ANY_CYCLE, Piece
from cyclechart.rules.rule import place_of
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact

_ENDS = {"lands": "lands", "early": "early", "late": "late"}


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
    ends = [line.notes[-1].spot, *(bar.spot for bar in line.section_lines)]
    yield Hint(max(ends, key=lambda spot: (spot.line, spot.column)), _end(piece, line, cycle))


def _end(piece: Piece, line: Line, cycle: Cycle) -> str:
    """Return how a line ends: after how many cycles, or where its last note stands."""
    standing = line.standing(cycle)
    if standing.shape == "loops":
        count = show_exact((standing.hands_over - standing.first) / cycle.beats)
        return "loops: 1 cycle" if count == "1" else f"loops: {count} cycles"
    place = place_words(place_of(piece, line, line.notes[-1].start))
    return f"{_ENDS.get(standing.shape, 'misses')}: {place}"
