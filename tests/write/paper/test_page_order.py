"""Where the charts of a book stand, against a plain search over all ways to put in blank pages."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.write.paper.page_order import Placed, page_order

COUNTS = st.lists(st.integers(1, 6), max_size=8)


@given(COUNTS, st.integers(0, 7))
def test_no_page_is_lost_and_each_even_chart_opens_on_the_left(
    counts: list[int], before: int
) -> None:
    page = before + 1
    for count, place in zip(counts, page_order(counts, before), strict=True):
        assert place.first == page + place.blanks
        if count % 2 == 0:
            assert place.first % 2 == 0
        else:
            assert place.blanks == 0
        page = place.first + count


@given(st.lists(st.integers(1, 4), max_size=7), st.integers(0, 4))
def test_no_way_has_fewer_blanks(counts: list[int], before: int) -> None:
    def holds(blanks: tuple[int, ...]) -> bool:
        page = before + 1
        for count, blank in zip(counts, blanks, strict=True):
            page += blank
            if count % 2 == 0 and page % 2 == 1:
                return False
            page += count
        return True

    fewest = min(sum(way) for way in product((0, 1), repeat=len(counts)) if holds(way))
    assert sum(place.blanks for place in page_order(counts, before)) == fewest


@given(COUNTS, st.integers(0, 7))
def test_a_screen_has_no_blanks(counts: list[int], before: int) -> None:
    places = page_order(counts, before, facing=False)
    assert [place.first for place in places] == [
        before + 1 + sum(counts[:at]) for at in range(len(counts))
    ]
    assert not any(place.blanks for place in places)


@pytest.mark.parametrize(
    ("counts", "before", "places"),
    [
        ([2, 1, 2], 4, [(6, 1), (8, 0), (10, 1)]),
        ([2, 1, 2], 5, [(6, 0), (8, 0), (10, 1)]),
        ([1, 2, 3, 4], 4, [(5, 0), (6, 0), (8, 0), (12, 1)]),
        ([], 4, []),
    ],
)
def test_places(counts: list[int], before: int, places: list[tuple[int, int]]) -> None:
    assert page_order(counts, before) == [Placed(*one) for one in places]
