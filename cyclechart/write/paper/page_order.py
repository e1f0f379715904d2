"""The order of a book's pages: charts of an even number of pages open on a left-hand page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a chart stands: its first page, counted from the book's first, which is 1, and how many
    blank pages come before it (0 or 1)."""

    first: int
    blanks: int


def page_order(counts: Iterable[int], before: int, *, facing: bool = True) -> list[Placed]:
    """Return where each chart stands, in the order given.

    ``counts``: the pages of each chart. ``before``: the pages that come before them, the cover
    among them. The first page of a book is a right-hand page, so a left-hand page has an even
    number. A chart of two pages that opens there is read without a turn, and one of four with one
    turn: only such charts have a blank page before them, where they would open on the right.
    ``facing``: False for a screen, which shows one page at a time and needs no blanks.
    """
    places = []
    page = before + 1
    for count in counts:
        blanks = int(facing and count > 0 and count % 2 == 0 and page % 2 == 1)
        page += blanks
        places.append(Placed(page, blanks))
        page += count
    return places
