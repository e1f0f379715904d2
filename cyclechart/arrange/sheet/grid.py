"""A strain as a grid: beats in columns, one row a cycle, and what begins in each beat.

This is how the trade writes by hand for players who read no staff. All times are exact beats within
the strain (a pickup lies before 0); a place in a cell is a share of it, 0 up to under 1.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import lcm
from typing import Literal

from cyclechart.arrange.sheet.model import Strain
from cyclechart.theory.cycle import Cycle

PLAIN, FINEST = 8, 16
"""Equal parts of a beat that are written out with a sign for each; a line's cell has no more than
``FINEST``. More than ``PLAIN`` are so only where something begins in half of them or more."""
ROOM = 8
"""Beats that a row has where a whole cycle is as short as ``SHORT``: several cycles stand in it."""
SHORT = 2

SignKind = Literal["note", "hold", "rest"]


_Event = tuple[Fraction, int]
"""When a note begins, with its index, or a rest, with −1."""


@dataclass(frozen=True, slots=True)
class GridSign:
    """What is written at one place of a cell: a note, the dash of a held one, or a rest.

    ``at`` is its share of the cell. ``note`` is the index of the note that begins or is held, or
    −1 for a rest. ``begins``: whether the note or the rest begins here.
    """

    kind: SignKind
    at: Fraction
    note: int
    begins: bool


@dataclass(frozen=True, slots=True)
class GridCell:
    """A beat, or the part of one that a section ends with: ``start`` and ``length`` in beats.

    ``parts`` is in how many equal ones it is written, a sign for each that the line covers; 0 where
    no simple division holds all that begins in it, and each sign stands at its own share, with no
    dashes between.
    """

    start: Fraction
    length: Fraction
    parts: int
    signs: tuple[GridSign, ...]

    def time(self, sign: GridSign) -> Fraction:
        """When a sign of it falls, in beats within the strain."""
        return self.start + sign.at * self.length


@dataclass(frozen=True, slots=True)
class GridColumn:
    """A beat of the cycle: its number from 1, its length (under 1 for a broken one), its clap or
    wave or "", and whether a section or a cycle begins with it."""

    beat: Fraction
    length: Fraction
    sign: str
    section: bool
    cycle: bool


@dataclass(frozen=True, slots=True)
class GridRow:
    """A row of the grid: the number of its (first) cycle, 0 for a pickup, and a cell a column.

    None where the line has nothing: before its pickup and after its end.
    """

    cycle: int
    cells: tuple[GridCell | None, ...]


@dataclass(frozen=True)
class Grid:
    """A strain's columns and rows. A free one has a single row, and a column for each beat."""

    columns: tuple[GridColumn, ...]
    rows: tuple[GridRow, ...]

    def place(self, note: int) -> tuple[int, int, int]:
        """The row, the column and the sign of its cell that a note begins at.

        Raises KeyError for the index of a note that no cell holds.
        """
        return self._places[note]

    @cached_property
    def _places(self) -> dict[int, tuple[int, int, int]]:
        """Where each note begins, by its index."""
        return {
            sign.note: (number, column, place)
            for number, row in enumerate(self.rows)
            for column, cell in enumerate(row.cells)
            if cell is not None
            for place, sign in enumerate(cell.signs)
            if sign.kind == "note"
        }


def cycle_columns(cycle: Cycle, cycles: int = 1) -> tuple[GridColumn, ...]:
    """The columns of so many cycles side by side."""
    columns = [
        GridColumn(
            offset + 1, length, cycle.signs.get(offset, ""), offset in cycle.starts, not offset
        )
        for _, offset, length in cycle.walk()
    ]
    return tuple(columns * cycles)


def strain_grid(strain: Strain) -> Grid:
    """Lay a strain out: a row for each cycle, or for several where a cycle is ``SHORT``."""
    if not strain.measures:
        return Grid((), ())
    signs = list(_events(strain))
    begin, end = strain.measures[0].start, strain.measures[-1].end
    if strain.free:
        return _free_grid(strain, signs)
    beats = strain.cycle.beats
    cycles = max(1, int(ROOM / beats)) if beats <= SHORT else 1
    first, last = int(begin // beats), int(-(-end // beats))
    # A pickup has a row of its own, right over the beats that it leads to.
    starts = [*range(-cycles, first - cycles, -cycles)][::-1] if begin < 0 else []
    starts += range(0, last, cycles)
    rows = [
        GridRow(
            number + 1 if number >= 0 else 0,
            tuple(
                _cell(signs, (number + cycle) * beats + offset, length, begin, end)
                for cycle in range(cycles)
                for _, offset, length in strain.cycle.walk()
            ),
        )
        for number in starts
    ]
    return Grid(cycle_columns(strain.cycle, cycles), tuple(rows))


def _free_grid(strain: Strain, signs: list[_Event]) -> Grid:
    """One row of beats without numbers; sections where the lead sheet's measures begin."""
    begin, end = strain.measures[0].start, strain.measures[-1].end
    heads = {measure.start for measure in strain.measures}
    columns: list[GridColumn] = []
    cells = []
    at = begin
    while at < end:
        length = min(Fraction(1), end - at)
        columns.append(GridColumn(at + 1, length, "", at in heads, at == begin))
        cells.append(_cell(signs, at, length, begin, end))
        at += length
    return Grid(tuple(columns), (GridRow(1, tuple(cells)),))


def _events(strain: Strain) -> Iterator[_Event]:
    """All that begins in a strain, in the order of time."""
    at = strain.measures[0].start
    for number, note in enumerate(strain.notes):
        if note.start > at:
            yield at, -1
        yield note.start, number
        at = note.end
    if at < strain.measures[-1].end:
        yield at, -1


def _cell(
    events: list[_Event], start: Fraction, length: Fraction, begin: Fraction, end: Fraction
) -> GridCell | None:
    """The cell of a beat; the line goes from ``begin`` to ``end``."""
    opens, closes = max(start, begin), min(start + length, end)
    if opens >= closes:
        return None
    first = bisect_left(events, (opens, -1))
    last = bisect_left(events, (closes, -1), first)
    starts = [((at - start) / length, note, True) for at, note in events[first:last]]
    if not starts or starts[0][0] * length + start > opens:
        before = events[first - 1][1] if first else -1
        starts.insert(0, ((opens - start) / length, before, False))
    line_end = (closes - start) / length
    parts = lcm(line_end.denominator, *(at.denominator for at, _, _ in starts))
    if parts > FINEST or (parts > PLAIN and 2 * len(starts) < parts):
        return GridCell(start, length, 0, tuple(_sign(*event) for event in starts))
    return GridCell(start, length, parts, tuple(_part_signs(starts, line_end, parts)))


def _part_signs(
    starts: list[tuple[Fraction, int, bool]], line_end: Fraction, parts: int
) -> Iterator[GridSign]:
    """A sign for each part: what begins there, else what goes on."""
    ends = [*(at for at, _, _ in starts[1:]), line_end]
    for (at, note, begins), end in zip(starts, ends, strict=True):
        yield _sign(at, note, begins)
        for part in range(int(at * parts) + 1, int(end * parts)):
            yield _sign(Fraction(part, parts), note, False)


def _sign(at: Fraction, note: int, begins: bool) -> GridSign:
    kind: SignKind = "rest" if note < 0 else "note" if begins else "hold"
    return GridSign(kind, at, note, begins)
