"""An answer's every number, and all that is advised, against the cadence written out stroke by
stroke."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction as F
from math import gcd

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.cadence_making import cycle_of, phrase

from cyclechart.theory import cadence
from cyclechart.theory.cadence import (
    Answer,
    Question,
    Statement,
    beats_needed,
    begins_instead,
    fill,
    follow,
    lands,
    miss,
    nearest_gap,
    nearest_length,
    nearest_room,
    never_whole,
    plainest,
    solve,
    soonest,
    why_none,
    wider,
)
from cyclechart.theory.cycle import Cycle

STATEMENTS = st.sampled_from(
    [
        phrase(1),
        phrase(3),
        phrase(F(1, 2)),
        phrase(F(5, 2)),
        Statement(F(3), (F(0), F(1), F(2))),
        Statement(F(4), (F(1), F(2), F(3))),
        Statement(F(4), (F(0), F(1), F(2))),
        Statement(F(2), (F(0), F(3, 2))),
        Statement(F(9), (F(6), F(7), F(8))),
    ]
)
QUESTIONS = st.builds(
    Question,
    STATEMENTS,
    times=st.sampled_from([1, 2, 3, 3, 4]),
    gap=st.sampled_from([F(0), F(1), F(1, 4), None]),
    begins=st.sampled_from([F(1), F(2), F(7, 2)]),
    body=st.sampled_from([F(0), F(2), F(5, 2)]),
    rounds=st.sampled_from([1, 1, 2, 3]),
    round_gap=st.sampled_from([F(0), F(1), F(3, 2)]),
    within=st.integers(2, 9),
    early=st.sampled_from([F(0), F(0), F(1), F(-1)]),
    step=st.sampled_from([F(0), F(0), F(1), F(-1)]),
    lead=st.sampled_from([F(0), F(3)]),
)
CYCLES = st.sampled_from([cycle_of(beats) for beats in (3, 4, 5, 8)])


def written_out(question: Question, begins: F, gap: F, between: F) -> list[F]:
    """Where each last stroke falls, from the first beat of the cycle it begins in."""
    at = begins - 1 + question.lead
    falls = []
    for turn in range(question.rounds):
        at += (between if turn else 0) + question.body
        for number in range(question.times):
            at += gap if number else 0
            at += question.statement.length + number * question.step
            falls.append(at - (question.statement.length - question.statement.onsets[-1]))
    return falls


def kind(question: Question, falls: list[F], silence: F, beats: F) -> str:
    """The trade's word (the handbooks' definitions, as in the cases of test_cadence)."""
    times, rounds, statement = question.times, question.rounds, question.statement
    if rounds == 1 and times == 1:
        return "single"
    if rounds == 1 and question.step:
        return "srotovaha" if question.step > 0 else "gopuccha"
    if rounds == 1:
        return "bedam" if silence <= F(1, 2) else "damdar"
    if times == rounds and not question.early:
        own = [falls[number * times + number] for number in range(times)]
        strokes = None
        if not question.step and statement.written and len(statement.onsets) == times:
            strokes = [onset - statement.onsets[-1] for onset in statement.onsets]
        if not question.step and not statement.written and statement.length >= times:
            strokes = [F(number - times + 1) for number in range(times)]
        if strokes and all((a + b) % beats == 0 for a, b in zip(own, strokes, strict=True)):
            return "kamali"
        if times == 3 and all(fall % beats == 0 for fall in own):
            return "farmaishi"
    same = not question.body and not question.step
    return "nauhakka" if times == rounds == 3 and same else "chakradar"


def true(question: Question, cycle: Cycle, answer: Answer) -> None:
    falls = written_out(question, answer.begins, answer.gap, answer.round_gap or F(0))
    statement = question.statement
    tail = statement.length - statement.onsets[-1]
    into = statement.onsets[0]
    if question.step < 0 and statement.written:
        left = [onset + question.step for onset in statement.onsets]
        into = next((onset for onset in left if onset >= 0), F(0))
    assert answer.ends == tuple(fall + 1 for fall in falls)
    assert answer.cycles * cycle.beats == falls[-1] + question.early
    assert answer.apart == tail + answer.gap + into
    assert answer.silence == answer.apart - min(tail, F(1))
    assert answer.kind == kind(question, falls, answer.silence, cycle.beats)
    how = "atit" if question.early < 0 else "anagat" if question.early else "sam"
    assert answer.lands == how
    assert answer.phrase == statement.length
    lengths = [statement.length + turn * question.step for turn in range(question.times)]
    assert answer.phrases == (tuple(lengths) if len(set(lengths)) > 1 else ())
    assert (answer.rounds, answer.round_gap is None) == (question.rounds, question.rounds == 1)
    assert lands(question, cycle, answer)
    assert not lands(replace(question, early=question.early + F(1, 2)), cycle, answer)
    early = [number for number, fall in enumerate(falls[:-1]) if fall % cycle.beats == 0]
    if answer.kind == "farmaishi":
        early = [number for number in early if number % 4]
    assert answer.early_ends(cycle.beats) == tuple(early)


@given(QUESTIONS, CYCLES)
def test_every_number_of_an_answer_is_that_of_the_cadence_written_out(
    question: Question, cycle: Cycle
) -> None:
    for answer in solve(question, cycle).found:
        true(question, cycle, answer)
    # With the beginning open too there is more often an answer.
    for answer in plainest(replace(question, begins=None), cycle, 3).found[:3]:
        true(question, cycle, answer)


@given(QUESTIONS, CYCLES)
def test_by_how_much_a_cadence_misses(question: Question, cycle: Cycle) -> None:
    gap = F(0) if question.times == 1 else question.gap
    begins = question.begins
    assert begins is not None
    assert question.round_gap is not None
    missed = miss(question, cycle)
    if gap is None or not question.sound:
        assert missed is None
        return
    last = written_out(question, begins, gap, question.round_gap)[-1]
    aims = last + question.early
    if aims % cycle.beats == 0:
        assert missed is None
    else:
        assert missed is not None
        numbers = (missed.last, missed.short, missed.over)
        assert numbers == (last + 1, -aims % cycle.beats, aims % cycle.beats)
    room = question.within * cycle.beats
    assert beats_needed(question, cycle) == (aims if aims > room else None)
    open_begins = replace(question, begins=None)
    first = aims - begins + 1
    assert beats_needed(open_begins, cycle) == (first if first > room else None)


@settings(max_examples=40, deadline=None)
@given(QUESTIONS, CYCLES, st.integers(1, 3))
def test_the_nearest_length_is_the_first_that_has_an_answer(
    question: Question, cycle: Cycle, reach: int
) -> None:
    statement = question.statement
    steps = {F(part, size) for size in (1, 2, 3, 4) for part in range(1, size * reach + 1)}
    wanted = None
    for change in [sign * step for step in sorted(steps) for sign in (1, -1)]:
        length, last = statement.length + change, statement.onsets[-1] + change
        if length > 0 and last >= 0:
            onsets = (*(onset for onset in statement.onsets[:-1] if onset < last), last)
            other = Statement(length, onsets, statement.written)
            if solve(replace(question, statement=other), cycle).found:
                wanted = length
                break
    assert nearest_length(question, cycle, reach) == wanted


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 8).map(lambda room: F(room, 4)), st.sampled_from([1, 3]), st.integers(1, 2))
def test_the_nearest_room_is_the_plainest_near_one_that_a_phrase_fills(
    room: F, rounds: int, reach: int
) -> None:
    question, cycle = Question(phrase(1), gap=F(1, 2), rounds=rounds), cycle_of(8)
    steps = [F(part, 4) for part in range(1, 4 * reach + 1)]
    others = [
        room + sign * step
        for step in sorted(steps, key=lambda step: (step.denominator, step))
        for sign in (1, -1)
    ]
    filled = (other for other in others if other > 0 and fill(question, other, cycle).found)
    assert nearest_room(question, room, cycle, reach) == next(filled, None)


@settings(max_examples=40, deadline=None)
@given(QUESTIONS, CYCLES)
def test_what_is_advised_is_the_plainest_or_the_nearest_that_lands(
    question: Question, cycle: Cycle
) -> None:
    anew = solve(replace(question, begins=None), cycle).found
    assert begins_instead(question, cycle) == (anew[0].begins if anew else None)
    assert begins_instead(replace(question, begins=None), cycle) is None
    windows = [w for w in range(1, 12) if solve(replace(question, within=w), cycle).found]
    assert soonest(question, cycle, 11) == (windows[0] if windows else None)
    if question.rounds > 1 and question.round_gap is not None:
        gaps = {one.round_gap for one in solve(replace(question, round_gap=None), cycle).found}
        said = question.round_gap
        near = sorted((abs(gap - said), gap) for gap in gaps if gap is not None)
        assert nearest_gap(question, cycle, "round_gap") == (near[0][1] if near else None)
        assert nearest_gap(replace(question, round_gap=None), cycle, "round_gap") is None
    if question.gap is None:
        assert nearest_gap(question, cycle) is None


@pytest.mark.parametrize("rounds", [1, 2, 3])
@pytest.mark.parametrize("body", [F(1), F(9), F(30), F(70)], ids=str)
def test_the_next_wider_window_in_which_something_follows_a_body(rounds: int, body: F) -> None:
    question, cycle = Question(phrase(1), body=body, rounds=rounds, within=1), cycle_of(5)
    for most in (256, 8):
        last = min(most, 1 + 4 * rounds)
        wide = [w for w in range(2, last + 1) if follow(replace(question, within=w), cycle).found]
        assert wider(question, cycle, most) == (wide[0] if wide else None)


@given(
    st.integers(3, 15),
    st.integers(1, 4),
    st.sampled_from([F(0), F(1), F(3), F(1, 2)]),
    st.sampled_from([F(1), F(2), F(3, 2)]),
    st.sampled_from([F(0), F(1), F(-1)]),
    st.sampled_from([F(0), F(2), F(1, 3)]),
    st.sampled_from([F(0), F(1)]),
    st.sampled_from([phrase(4), Statement(F(4), (F(0), F(2))), Statement(F(4), (F(0), F(5, 2)))]),
)
def test_a_reason_names_what_divides_both_and_is_true(
    beats: int,
    times: int,
    gap: F,
    begins: F,
    step: F,
    body: F,
    early: F,
    statement: Statement,
) -> None:
    cycle = cycle_of(beats)
    question = Question(statement, times, gap, begins, body, early=early, step=step, within=200)
    reason = why_none(question, cycle)
    tail = statement.length - statement.onsets[-1]
    landing = []
    for length in range(20, 20 + beats):
        longer = Statement(F(length), (F(0), length - tail))
        asked = replace(question, statement=longer)
        if (written_out(asked, begins, gap, F(0))[-1] + early) % beats == 0:
            landing.append(length)
    numbers = (begins, gap, body, early, step, tail)
    whole = all(number.denominator == 1 for number in numbers)
    assert bool(reason) == (whole and not landing)
    if reason:
        assert f"{times} statements and a cycle of {beats} beats" in reason
        assert f"divided by {gcd(times, beats)}" in reason
    assert why_none(replace(question, gap=None), cycle) == ""
    assert why_none(replace(question, begins=None), cycle) == ""


@settings(max_examples=40, deadline=None)
@given(QUESTIONS, CYCLES)
def test_never_whole_is_so_just_where_no_gap_of_twelfths_comes_out(
    question: Question, cycle: Cycle
) -> None:
    # Thirds and quarters together are twelfths; the lengths here are in halves.
    asked = replace(question, times=max(2, question.times), gap=None, rounds=1)
    assert asked.begins is not None
    gaps = [F(part, 12) for part in range(12 * int(cycle.beats))]
    lasts = [written_out(asked, asked.begins, gap, F(0))[-1] + asked.early for gap in gaps]
    assert never_whole(asked, cycle) == all(last % cycle.beats for last in lasts)
    assert not never_whole(replace(asked, gap=F(0)), cycle)


def test_the_names_of_answers() -> None:
    def name(*, rounds: int = 1, times: int = 3, gap: int = 0, **more: F) -> str:
        question = Question(
            phrase(5), times, gap=F(gap), rounds=rounds, round_gap=F(0), within=9, **more
        )
        return solve(question, cycle_of(16)).found[0].name

    assert name() == "bedam tihai"
    assert name(gap=1) == "damdar tihai"
    assert name(times=4) == "bedam, 4 statements"
    assert name(times=1) == "phrase said once"
    assert name(step=F(1)) == "srotovaha"
    assert name(rounds=3) == "nauhakka"
    assert name(rounds=3, body=F(12)) == "farmaishi chakradar"


def test_a_phrase_by_its_beats_ends_on_its_last_beat() -> None:
    beats = [F(4), F(3, 2), F(1), F(1, 2)]
    onsets = [list(Statement.of_beats(each).onsets) for each in beats]
    assert onsets == [[F(0), F(3)], [F(0), F(1, 2)], [F(0)], [F(0)]]
    assert not Statement.of_beats(F(4)).written
    assert (phrase(4).last, phrase(4).tail) == (3, 1)


def test_statements_may_shrink_until_the_last_stroke_opens_them() -> None:
    assert Question(phrase(3), step=F(-1)).sound
    assert not Question(phrase(3), step=F(-5, 4)).sound
    assert not Question(phrase(3), times=4, step=F(-1)).sound


@pytest.mark.parametrize("most", [1, 2, 5, 20])
def test_a_search_looks_at_so_many_and_no_more(most: int) -> None:
    question, cycle = Question(phrase(5), begins=F(1), within=3), cycle_of(16)
    every = solve(question, cycle)
    few = solve(question, cycle, most)
    assert few.stopped == (every.looked_at > most)
    assert few.looked_at == min(every.looked_at, most + 1)
    assert set(few.found) <= set(every.found)
    assert solve(question, cycle, every.looked_at).found == every.found
    assert not solve(question, cycle, every.looked_at).stopped


def test_the_soonest_window_is_looked_for_among_so_many_and_no_more() -> None:
    # One candidate a landing: 3 × 22 − 1 = 65 beats from the first are over four cycles, not five.
    question, cycle = Question(phrase(22), begins=F(1)), cycle_of(16)
    needed = next(n for n in range(1, 50) if soonest(question, cycle, 20, n) is not None)
    assert soonest(question, cycle, 20, needed) == soonest(question, cycle, 20)
    one = Question(phrase(5), gap=F(1), begins=F(1))
    assert soonest(one, cycle, 4, 1) == 1
    assert soonest(one, cycle, 4, 0) is None


def test_the_names_of_the_package_are_there() -> None:
    assert not [name for name in cadence.__all__ if not hasattr(cadence, name)]
