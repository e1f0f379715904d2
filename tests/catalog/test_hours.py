"""The hours of modes on the clock, and the order of a set by them."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.catalog.hours import DAY, clock_hours, order_by_hour
from cyclechart.catalog.library import Library
from cyclechart.catalog.search import entries


@pytest.mark.parametrize(
    ("text", "hours"),
    # The eight quarters (prahar) of three hours from six and from eighteen: Hindi handbooks.
    [
        ("first quarter of the day", (7.5,)),
        ("last quarter of the day", (16.5,)),
        ("first quarter of the night", (19.5,)),
        ("third quarter of the night", (1.5,)),
        ("first or second quarter of the night", (19.5, 22.5)),
        ("evening, or the second quarter of the night", (19, 22.5)),
        ("last quarter of the night, or the first quarter of the day", (4.5, 7.5)),
        ("midnight", (0,)),
        ("late evening", (21,)),
        ("afternoon", (14,)),
        ("noon and afternoon", (12, 14)),
        ("spring, or midnight", (0,)),
        ("second quarter of the night, and any hour", (22.5,)),
        ("summer evenings", (19,)),
        ("any", ()),
        ("the rains", ()),
        ("in the fortnight before harvest", ()),
        ("quarter", ()),
        ("", ()),
    ],
)
def test_a_printed_hour_on_the_clock(text: str, hours: tuple[float, ...]) -> None:
    assert clock_hours(text) == hours


def test_every_hour_of_the_catalogue_but_seasons_is_understood() -> None:
    hours = {entry.mode.hour for entry in entries(Library.beside(None))[0]} - {""}
    assert len(hours) > 30
    assert {hour for hour in hours if not clock_hours(hour)} == {"any", "the rains", "spring"}


def test_an_evening_goes_on_to_dawn() -> None:
    dawn, midnight, evening, afternoon = (5.5,), (0.0,), (19.5,), (14.0,)
    assert order_by_hour([dawn, midnight, evening]) == [2, 1, 0]
    assert order_by_hour([evening, afternoon, midnight]) == [1, 0, 2]


def test_a_tune_without_an_hour_keeps_its_place() -> None:
    assert order_by_hour([(22.5,), (), (19.5,), ()]) == [2, 1, 0, 3]
    assert order_by_hour([(), ()]) == [0, 1]
    assert order_by_hour([]) == []


def test_a_tune_with_two_hours_takes_the_one_that_fits() -> None:
    assert order_by_hour([(8.0, 0.0), (19.5,)]) == [1, 0]
    assert order_by_hour([(8.0, 0.0), (10.5,)]) == [0, 1]


def test_tunes_of_one_hour_stay_as_they_are() -> None:
    assert order_by_hour([(19.5,), (19.5,), (7.5,), (19.5,)])[0] == 0
    order = order_by_hour([(19.5,)] * 4)
    assert order == [0, 1, 2, 3]


HOURS = st.lists(
    st.lists(st.integers(0, 47).map(lambda half: half / 2), max_size=2).map(tuple), max_size=6
)


@given(HOURS)
def test_no_other_order_spans_fewer_hours(hours: list[tuple[float, ...]]) -> None:
    order = order_by_hour(hours)
    assert sorted(order) == list(range(len(hours)))
    timed = [index for index, named in enumerate(hours) if named]
    assert all(order[index] == index for index in range(len(hours)) if index not in timed)
    if timed:
        laid = [hours[index] for index in order if hours[index]]
        least = min(_span(row) for row in permutations([hours[index] for index in timed]))
        assert _span(laid) == least


def _span(row: tuple[tuple[float, ...], ...] | list[tuple[float, ...]]) -> float:
    """The hours from the first tune to the last, each as soon as may be after the one before."""
    spans = []
    for begin in row[0]:
        now = begin
        for named in row[1:]:
            now += min((hour - now) % DAY for hour in named)
        spans.append(now - begin)
    return min(spans)
