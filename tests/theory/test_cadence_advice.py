"""Advice on a question without an answer: each suggestion is tried."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from support.cadence_making import cycle_of, last_stroke_falls, phrase

from cyclechart.theory.cadence import (
    Question,
    Statement,
    beats_needed,
    begins_instead,
    fill,
    follow,
    miss,
    nearest_gap,
    nearest_length,
    nearest_room,
    solve,
    soonest,
    why_none,
    wider,
)

F = Fraction

BEGINS = st.integers(1, 6).map(F)
GAPS = st.integers(0, 6).map(lambda halves: F(halves, 2))


@given(st.integers(3, 12), st.integers(1, 9), GAPS, BEGINS)
def test_a_miss_is_mended_by_what_it_says(
    beats: int, length: int, gap: Fraction, begins: Fraction
) -> None:
    assume(begins <= beats)
    cycle = cycle_of(beats)
    question = Question(phrase(length), gap=gap, begins=begins, within=12)
    missed = miss(question, cycle)
    last = last_stroke_falls(question, begins, gap, F(0))[-1]
    if missed is None:
        assert last % beats == 0
        return
    assert missed.last == last + 1
    assert missed.short + missed.over == beats
    assert (last + missed.short) % beats == 0 == (last - missed.over) % beats
    other = nearest_gap(question, cycle)
    if other is not None:
        assert miss(replace(question, gap=other), cycle) is None
        # No countable gap nearer than it lands.
        near = abs(other - gap)
        for twelfth in range(int(near * 12)):
            for nearer in (gap + F(twelfth, 12), gap - F(twelfth, 12)):
                if nearer.denominator <= 4 and nearer >= 0:
                    assert miss(replace(question, gap=nearer), cycle) is not None
    start = begins_instead(question, cycle)
    if start is not None:
        assert miss(replace(question, begins=start), cycle) is None


def test_the_nearest_length_that_has_an_answer() -> None:
    question = Question(phrase(10), gap=F(0), begins=F(1), within=2)
    assert not solve(question, cycle_of(16)).found
    assert nearest_length(question, cycle_of(16)) == 11


def test_the_nearest_gap_between_rounds() -> None:
    # Sitar Malika p. 156: the kamali has a beat between its rounds; with two it misses.
    question = Question(
        Statement(F(9), (F(6), F(7), F(8))), 3, F(0), F(1), F(10), 3, F(2), within=7
    )
    cycle = cycle_of(16)
    missed = miss(question, cycle)
    assert missed is not None
    assert (missed.last, missed.over) == (115, 2)
    assert nearest_gap(question, cycle, "round_gap") == 1


@given(st.integers(3, 15), st.integers(2, 4), st.integers(0, 4), BEGINS, st.integers(-1, 1))
def test_a_reason_is_given_where_no_length_lands_and_nowhere_else(
    beats: int, times: int, gap: int, begins: Fraction, step: int
) -> None:
    cycle = cycle_of(beats)
    question = Question(phrase(5), times, F(gap), begins, within=200, step=F(step))
    landing = [
        length
        for length in range(5, 5 + beats)
        if miss(replace(question, statement=phrase(length)), cycle) is None
    ]
    assert bool(why_none(question, cycle)) == (not landing)


@pytest.mark.parametrize(("length", "needed"), [(900, 2699), (22, 65), (21, None)])
def test_a_phrase_that_the_window_is_too_short_for(length: int, needed: int | None) -> None:
    question = Question(phrase(length))
    assert beats_needed(question, cycle_of(16)) == needed


def test_the_window_that_the_farmaishi_needs() -> None:
    # Sitar Malika p. 153: five cycles of sixteen.
    question = Question(phrase(5), 3, F(0), F(1), F(12), 3, F(0))
    assert soonest(question, cycle_of(16), 256) == 5
    assert wider(question, cycle_of(16)) == 5
    assert not follow(question, cycle_of(16)).found


def test_the_nearest_room_that_can_be_filled() -> None:
    question = Question(phrase(1))
    assert not fill(question, F(1), cycle_of(16)).found
    assert nearest_room(question, F(1), cycle_of(16)) == 2


def test_the_nearest_length_is_looked_for_eight_beats_away_and_no_further() -> None:
    # From the first beat into a cycle of 56: 3 × 19 − 1 = 56, nine beats more than ten.
    question = Question(phrase(10), gap=F(0), begins=F(1), within=1)
    assert nearest_length(question, cycle_of(56)) is None
    assert nearest_length(question, cycle_of(56), reach=9) == 19


def test_the_beginning_that_is_offered_is_the_plainest() -> None:
    # 5 + 5 + 5 from the third beat: the last stroke is on the 17th.
    question = Question(phrase(5), begins=F(2), within=1)
    found = solve(replace(question, begins=None), cycle_of(16)).found
    assert len({answer.begins for answer in found}) > 1
    assert begins_instead(question, cycle_of(16)) == found[0].begins == 3 != found[-1].begins


def test_no_reason_is_given_in_rounds_or_in_parts_of_a_beat() -> None:
    question = Question(phrase(5), 3, F(0), F(1), F(2))
    assert why_none(question, cycle_of(15))
    assert not why_none(replace(question, rounds=3, round_gap=F(0)), cycle_of(15))
    assert not why_none(replace(question, gap=F(1, 4)), cycle_of(15))
