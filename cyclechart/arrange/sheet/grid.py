"""A strain as a grid: a column for each beat, a row for each cycle, and the signs in each cell.

This is the usual hand notation for players who read no staff. All times are exact beats within the
strain (a pickup lies before 0); a place in a cell is a share of it, from 0 to less than 1.
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
"""The most equal parts that a cell is divided into, with a sign for each: up to ``PLAIN`` always,
up to ``FINEST`` where a note or rest begins in at least half of them."""
ROOM = 8
"""Beats in a row of several cycles, used where a cycle has at most ``SHORT`` beats."""
SHORT = 2

SignKind = Literal["note", "hold", "rest"]


_Event = tuple[Fraction, int]
"""The start of a note with its index, or of a rest with −1."""


@dataclass(frozen=True, slots=True)
class GridSign:
    """A sign at one place of a cell: a note, the dash of a held note, or a rest.

    ``at`` is its place as a share of the cell. ``note`` is the index of the note that begins or is
    held, or −1 for a rest. ``begins``: the note or rest begins here.
    """

    kind: SignKind
    at: Fraction
    note: int
    begins: bool


@dataclass(frozen=True, slots=True)
class GridCell:
    """A beat, or the shorter last beat of a section: ``start`` and ``length`` in beats.

    ``parts`` is the number of equal parts that it is divided into, with a sign for each that the
    line covers. It is 0 where no simple division fits; then each sign has its own place, without
    dashes between.
    """

    start: Fraction
    length: Fraction
    parts: int
    signs: tuple[GridSign, ...]

    def time(self, sign: GridSign) -> Fraction:
        """Return the time of one of its signs, in beats within the strain."""
        return self.start + sign.at * self.length


@dataclass(frozen=True, slots=True)
class GridColumn:
    """A beat of the cycle: its number from 1, its length (under 1 for a short one), and its clap or
    wave or ""; ``section`` and ``cycle`` are True where one begins with it."""

    beat: Fraction
    length: Fraction
    sign: str
    section: bool
    cycle: bool


@dataclass(frozen=True, slots=True)
class GridRow:
    """A row of the grid: the number of its first cycle (0 for a pickup), and a cell per column.

    A cell is None before the line's pickup and after its end.
    """

    cycle: int
    cells: tuple[GridCell | None, ...]


@dataclass(frozen=True)
class Grid:
    """The columns and rows of a strain; a free one has a single row with a column for each beat."""

    columns: tuple[GridColumn, ...]
    rows: tuple[GridRow, ...]

    def place(self, note: int) -> tuple[int, int, int]:
        """Return the indices of the row, the column and the sign where a note begins.

        Raises KeyError for the index of a note that no cell contains.
        """
        return self._places[note]

    @cached_property
    def _places(self) -> dict[int, tuple[int, int, int]]:
        """The place of each note, by its index."""
        return {
            sign.note: (number, column, place)
            for number, row in enumerate(self.rows)
            for column, cell in enumerate(row.cells)
            if cell is not None
            for place, sign in enumerate(cell.signs)
            if sign.kind == "note"
        }


def cycle_columns(cycle: Cycle, cycles: int = 1) -> tuple[GridColumn, ...]:
    """Return the columns of so many cycles side by side."""
    columns = [
        GridColumn(
            offset + 1, length, cycle.signs.get(offset, ""), offset in cycle.starts, not offset
        )
        for _, offset, length in cycle.walk()
    ]
    return tuple(columns * cycles)


def strain_grid(strain: Strain) -> Grid:
    """Return the grid of a strain: a row for each cycle, or for several short ones."""
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
    """Return a grid of one row; sections begin where the lead sheet's measures do."""
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
    """Yield the starts of notes and rests of a strain in order of time."""
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
    """Return the cell of a beat, or None outside the line, which is from ``begin`` to ``end``."""
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
    """Yield a sign for each part: the note or rest that begins there, or the one that continues."""
    ends = [*(at for at, _, _ in starts[1:]), line_end]
    for (at, note, begins), end in zip(starts, ends, strict=True):
        yield _sign(at, note, begins)
        for part in range(int(at * parts) + 1, int(end * parts)):
            yield _sign(Fraction(part, parts), note, False)


def _sign(at: Fraction, note: int, begins: bool) -> GridSign:
    kind: SignKind = "rest" if note < 0 else "note" if begins else "hold"
    return GridSign(kind, at, note, begins)
