"""What goes over several letters of the handwritten grid: brackets, glides, slurs, words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from cyclechart.arrange.sheet.brackets import Bracket
from cyclechart.arrange.sheet.grid import Grid
from cyclechart.arrange.sheet.model import Strain
from cyclechart.piece.hairpins_and_slurs import slurs_of
from cyclechart.text.display import settable

LETTERS_IN_ROW = 110
"""The letters of words above that a row has room for, as a safe estimate."""


def spans_of(strain: Strain, grid: Grid) -> Iterator[tuple[int, dict[str, Any]]]:
    """Yield the brackets and the arcs of glides over the notes, each with the number of its row.

    They come in the order in which they begin: a label without room moves on past the one before.
    ``from`` and ``to``: a column and a sign of its cell, or None where a span comes from the row
    before or goes on in the next. ``level``: brackets from 0 up, those within others lowest.
    """
    levels = list(_levels(strain.brackets))
    for span, level in sorted(levels, key=lambda entry: entry[0].first):
        yield from _span_rows(
            grid, span.first, span.last, kind=span.kind, label=span.label, level=level
        )
    for number, note in enumerate(strain.notes[:-1]):
        if note.glides:
            yield from _span_rows(grid, number, number + 1, kind="glide", label="", level=0)
    yield from _slurs_and_words(strain, grid, 1 + max((n for _, n in levels), default=-1))


def _levels(spans: tuple[Bracket, ...]) -> Iterator[tuple[Bracket, int]]:
    """Yield each bracket and its level: the shortest lowest, none on another."""
    drawn: list[tuple[Bracket, int]] = []
    for span in sorted(spans, key=lambda span: (span.last - span.first, span.first)):
        over = [
            level for other, level in drawn if other.first <= span.last and span.first <= other.last
        ]
        drawn.append((span, max(over, default=-1) + 1))
        yield drawn[-1]


def _span_rows(
    grid: Grid, first: int, last: int, *, kind: str, label: str, level: int
) -> Iterator[tuple[int, dict[str, Any]]]:
    """Yield the rows that a span takes, each with its part there."""
    start, end = grid.place(first), grid.place(last)
    for row in range(start[0], end[0] + 1):
        opens, closes = row == start[0], row == end[0]
        yield (
            row,
            {
                "kind": kind,
                "label": label if opens else "",
                "level": level,
                "from": start[1:] if opens else None,
                "to": end[1:] if closes else None,
            },
        )


def _slurs_and_words(strain: Strain, grid: Grid, over: int) -> Iterator[tuple[int, dict[str, Any]]]:
    """Yield the slurs, and the words above notes from the level ``over`` the brackets up."""
    for first, last in slurs_of(strain.notes):
        yield from _span_rows(grid, first, last, kind="slur", label="", level=0)
    taken: dict[tuple[int, int], int] = {}
    for number, note in enumerate(strain.notes):
        if not note.text:
            continue
        row, column, _ = grid.place(number)
        length = len(note.text) + 2
        start = LETTERS_IN_ROW * column // len(grid.columns)
        start = max(0, min(start, LETTERS_IN_ROW - length))
        level = over
        while taken.get((row, level), 0) > start:
            level += 1
        taken[row, level] = start + length
        label = settable(note.text)
        yield from _span_rows(grid, number, number, kind="words", label=label, level=level)
