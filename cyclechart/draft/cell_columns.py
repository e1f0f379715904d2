"""Rows of cells lined up under each other.

Cells stand at columns that several rows have in common. A cell that is much longer than those of
the other rows at its place widens nothing: its row alone goes on further to the right, until it
has caught up.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby, pairwise
from statistics import median_low
from typing import NamedTuple

from cyclechart.draft.text_rows import Column, Entry
from cyclechart.text.display import columns as width

WIDEST = 99
"""The columns that rows keep within where they would without being lined up."""
LONG_CELL = 16
LONG_SECTION = 16
"""So much longer than those of most rows is a long section."""

Cells = Sequence[Entry]


class TableRows(NamedTuple):
    """Rows as text; ``ends`` is the column after the longest that is lined up."""

    rows: tuple[str, ...]
    ends: int
    by_cell: bool


def lined_up(rows: Sequence[Cells], indent: int) -> TableRows:
    """Return the rows of a table with their cells under each other; where that would make them too
    wide, with their sections alone, or each by itself."""
    plain = [" ".join(entry.text for entry in row) for row in rows]
    most = max(WIDEST, indent + max(map(width, plain)))
    for by_cell in (True, False):
        grid = _table_rows([row if by_cell else _sections(row) for row in rows])
        if indent + max(map(width, grid.rows)) <= most:
            return grid._replace(by_cell=by_cell)
    return TableRows(tuple(plain), max(map(width, plain)), False)


def _sections(row: Cells) -> list[Entry]:
    """Return a row with the cells of each section as one."""
    joined: list[Entry] = []
    for _, group in groupby(row, key=lambda entry: entry.column[:2]):
        entries = list(group)
        joined.append(entries[0]._replace(text=" ".join(entry.text for entry in entries)))
    return joined


def _table_rows(rows: Sequence[Cells]) -> TableRows:
    long = _long_steps(rows)
    last = _last_beats(rows)
    places = _places([_within_bars(row, last) for row in rows], long)
    texts, ends = [], 0
    for number, row in enumerate(rows):
        text, end = "", 0
        for entry in row:
            at = max(places.get(entry.column, 0), end + 1 if text else 0)
            if not (number or text):
                at = 0  # the first row says how far a block is indented
            text += " " * (at - end) + entry.text
            end = at + width(entry.text)
        texts.append(text)
        if not any((number, entry.column) in long for entry in row):
            ends = max(ends, end)
    return TableRows(tuple(texts), ends, True)


def _last_beats(rows: Sequence[Cells]) -> dict[int, Column]:
    """Return the last column before the bar of each section that has a bar in some row."""
    last: dict[int, Column] = {}
    for row in rows:
        for one, other in pairwise(row):
            section = one.column.section
            if other.column.at_bar and section == other.column.section:
                last[section] = max(last.get(section, one.column), one.column)
    return last


def _within_bars(row: Cells, last: dict[int, Column]) -> list[Entry]:
    """Return a row without what goes on, in a section that it does not close, past the bars of
    other rows."""
    if not row or row[-1].column.at_bar or row[-1].column.section not in last:
        return list(row)
    end = last[row[-1].column.section]
    return [entry for entry in row if entry.column <= end]


def _places(rows: Sequence[Cells], long: set[tuple[int, Column]]) -> dict[Column, int]:
    """Return where each column stands: as far left as all cells that are not long allow."""
    before: dict[Column, list[tuple[Column, int]]] = {}
    for number, row in enumerate(rows):
        for one, other in pairwise(row):
            if (number, one.column) not in long:
                step = (one.column, width(one.text) + 1)
                before.setdefault(other.column, []).append(step)
    places: dict[Column, int] = {}
    least = 0
    cells = ((number, entry.column) for number, row in enumerate(rows) for entry in row)
    for column in sorted({cell[1] for cell in cells if cell not in long}):
        steps = (places[one] + step for one, step in before.get(column, ()))
        places[column] = max(least, *steps, 0)
        least = places[column] + 1
    return places


def _long_steps(rows: Sequence[Cells]) -> set[tuple[int, Column]]:
    """Return the cells, by row and column, that push no other row to the right."""
    cells: dict[Column, list[tuple[int, int]]] = {}
    sections: dict[int, list[tuple[int, int]]] = {}
    for number, row in enumerate(rows):
        for entry in row:
            cells.setdefault(entry.column, []).append((width(entry.text), number))
        for section, group in groupby(row, key=lambda entry: entry.column.section):
            size = sum(width(entry.text) + 1 for entry in group if not entry.column.at_bar)
            sections.setdefault(section, []).append((size, number))
    long = {
        (number, column)
        for column, widths in cells.items()
        for number in _far_longer(widths, LONG_CELL, 0)
    }
    wide = {
        (number, section)
        for section, sizes in sections.items()
        for number in _far_longer(sizes, 0, LONG_SECTION)
    }
    for number, row in enumerate(rows):
        long |= {(number, one.column) for one in row if (number, one.column.section) in wide}
    return long


def _far_longer(sizes: Iterable[tuple[int, int]], least: int, more: int) -> list[int]:
    """Return the rows whose size is more than twice that of most rows."""
    sizes = list(sizes)
    usual = median_low(size for size, _ in sizes)
    return [row for size, row in sizes if size > max(least, 2 * usual, usual + more)]
