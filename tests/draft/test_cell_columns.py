"""Rows of cells lined up, from columns alone."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from cyclechart.draft.cell_columns import WIDEST, lined_up
from cyclechart.draft.text_rows import Column, Entry

CELLS = st.text("SRGm-", min_size=1, max_size=3)
SECTIONS = st.lists(st.lists(CELLS, min_size=1, max_size=4), min_size=1, max_size=3)
"""None so much longer than another that it would go its own way."""


def row(*sections: list[str], closed: bool = True) -> list[Entry]:
    entries = []
    for number, cells in enumerate(sections):
        for beat, cell in enumerate(cells):
            entries.append(Entry(Column(number, False, Fraction(beat)), cell, 0, Fraction(0)))
        if closed or number + 1 < len(sections):
            entries.append(Entry(Column(number, True, Fraction(0)), "|", 0, Fraction(0)))
    return entries


@given(st.lists(SECTIONS, min_size=1, max_size=5))
def test_what_stands_in_a_column_begins_under_what_stands_there_in_other_rows(
    sections: list[list[list[str]]],
) -> None:
    rows = [row(*one) for one in sections]
    laid = lined_up(rows, 4)
    assert laid.by_cell
    places: dict[Column, int] = {}
    for entries, text in zip(rows, laid.rows, strict=True):
        assert text.split() == [entry.text for entry in entries]
        at = 0
        for entry in entries:
            at = text.index(entry.text, at)
            assert places.setdefault(entry.column, at) == at
            at += len(entry.text)


def test_rows_that_would_become_too_wide_are_left_by_themselves() -> None:
    wide, thin = ["S" * 8] * 6, ["R" * 4] * 6
    rows = [row(wide, thin), row(thin, wide)]
    laid = lined_up(rows, 0)
    assert not laid.by_cell
    assert laid.rows == tuple(" ".join(entry.text for entry in one) for one in rows)
    assert max(map(len, laid.rows)) <= WIDEST
