"""The place of a part in a range: against a count by hand, and by what must hold for any."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from cyclechart.theory.ranges import Range, better_octave, better_shifts, lie

TENOR = Range(47, 50, 67, 72)
"""B2, D3, G4, C5: a choir tenor's (common practice, from memory)."""

_KEYS = st.integers(0, 127)
_ENDS = st.tuples(_KEYS, _KEYS).map(lambda ends: (min(ends), max(ends)))
_RANGES = st.lists(_KEYS, min_size=4, max_size=4).map(lambda four: Range(*sorted(four)))
_TIMES = st.fractions(Fraction(1, 16), 8, max_denominator=16)
_PARTS = st.lists(st.tuples(_KEYS, _TIMES), min_size=1, max_size=12)


def test_a_part_counted_by_hand() -> None:
    # G4 two beats at ease, A4 one a strain, D5 one out of reach: a quarter of the time each.
    part = [(67, Fraction(2)), (69, Fraction(1)), (74, Fraction(1))]
    found = lie(part, TENOR)
    assert found is not None
    assert (found.beyond, found.strained) == (Fraction(1, 4), Fraction(1, 4))
    assert (found.bottom, found.top) == (67, 74)
    assert lie([], TENOR) is None


def test_the_ends_of_a_range_belong_to_it() -> None:
    edges = [(50, Fraction(1)), (67, Fraction(1))]
    found = lie(edges, TENOR)
    assert found is not None
    assert found.beyond == found.strained == 0
    outer = lie([(47, Fraction(1)), (72, Fraction(1))], TENOR)
    assert outer is not None
    assert (outer.beyond, outer.strained) == (0, 1)


@given(_PARTS, _RANGES, st.integers(-24, 24))
def test_part_and_range_moved_together_lie_alike(
    part: list[tuple[int, Fraction]], within: Range, by: int
) -> None:
    there = Range(within.lowest + by, within.low + by, within.high + by, within.highest + by)
    here, moved = lie(part, within), lie([(key + by, time) for key, time in part], there)
    assert here is not None
    assert moved is not None
    assert (here.beyond, here.strained) == (moved.beyond, moved.strained)
    assert here.beyond + here.strained <= 1


@given(_PARTS, _RANGES)
def test_an_octave_up_and_an_octave_down_cancel(
    part: list[tuple[int, Fraction]], within: Range
) -> None:
    up = [(key + 12, time) for key, time in part]
    assert lie([(key - 12, time) for key, time in up], within) == lie(part, within)


@given(_ENDS, _RANGES)
def test_the_octave_that_is_found_is_the_nearest_that_is_comfortable_or_else_possible(
    ends: tuple[int, int], within: Range
) -> None:
    bottom, top = ends

    def fits(by: int, low: int, high: int) -> bool:
        return low <= bottom + 12 * by and top + 12 * by <= high

    def nearest(low: int, high: int) -> int | None:
        # Another way to the same: every octave tried, the least move taken.
        found = [by for by in range(-3, 4) if fits(by, low, high)]
        return min(map(abs, found), default=None)

    comfortable = nearest(within.low, within.high)
    wanted = nearest(within.lowest, within.highest) if comfortable is None else comfortable
    found = better_octave(bottom, top, within)
    assert (None if found is None else abs(found)) == wanted
    if found is not None:
        assert fits(found, within.lowest, within.highest)


def test_an_octave_that_is_not_given_is_not_taken() -> None:
    assert better_octave(26, 40, TENOR) == 2
    assert better_octave(26, 40, TENOR, (-1, 0, 1)) is None


@given(_ENDS, _RANGES, st.sets(st.integers(-11, 11)))
def test_shifts_are_just_those_that_are_comfortable_the_nearest_first(
    ends: tuple[int, int], within: Range, shifts: set[int]
) -> None:
    bottom, top = ends
    found = better_shifts(bottom, top, within, shifts)
    moved = {by: (bottom + by, top + by) for by in shifts}
    assert set(found) == {
        by for by, (low, high) in moved.items() if low >= within.low and high <= within.high
    }
    assert [abs(by) for by in found] == sorted(abs(by) for by in found)


def test_of_two_shifts_as_near_the_lower_comes_first() -> None:
    assert better_shifts(55, 60, TENOR, (3, -1, 0, 8, 1, -5, -6)) == [0, -1, 1, 3, -5]
