"""Where a bar as it is played stands on paper: straight lines between its knots."""

from __future__ import annotations

from fractions import Fraction as F

from hypothesis import given
from hypothesis import strategies as st

from cyclechart.arrange.parts.bar_places import BarPlace, free_knots, metered_place

BEATS = st.fractions(F(1, 2), 20, max_denominator=4)


@given(st.integers(0, 5), BEATS, BEATS, st.fractions(0, 1, max_denominator=8))
def test_a_metered_bar_is_as_long_as_it_is_played(strain: int, at: F, length: F, share: F) -> None:
    place = metered_place(strain, at, length)
    assert (place.strain, place.at, place.end) == (strain, at, at + length)
    assert place.played(at + share * length) == share * length
    # What stands beyond it, with its end.
    assert place.played(at + length + 1) == length


@given(st.lists(BEATS, max_size=5), BEATS, BEATS)
def test_the_last_of_a_free_bar_is_spread_over_the_rest(begun: list[F], paper: F, more: F) -> None:
    played = paper + more
    place = BarPlace(2, F(3), free_knots(begun, paper, played))
    assert place.end == 3 + paper
    heads = sorted({F(0), *(start for start in begun if start < paper)})
    for start in heads:
        assert place.played(3 + start) == start
    assert place.knots == (*((start, start) for start in heads), (paper, played))
    last = heads[-1]
    middle = (last + paper) / 2
    assert place.played(3 + middle) == (last + played) / 2
    assert place.played(3 + paper) == played
