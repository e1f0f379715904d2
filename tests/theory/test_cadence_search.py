"""The searches against brute force: none lacking, none too many, in the stated order.

Every cadence is walked part by part in cadence_making, which shares no sum with the solver.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.cadence_making import countable, cycle_of, landing, last_stroke_falls, phrase

from cyclechart.theory import cadence
from cyclechart.theory.cadence import (
    Answer,
    Question,
    Statement,
    fill,
    fill_room,
    follow,
    lands,
    solve,
)
from cyclechart.theory.cycle import Cycle

F = Fraction
Way = tuple[Fraction, Fraction, Fraction | None]


def ways(question: Question, cycle: Cycle, begins: list[Fraction]) -> set[Way]:
    """(begins, gap, round gap) of all that lands, by trying every one."""
    limit = question.within * cycle.beats
    gaps = countable(limit, cycle.gati)
    found = set()
    for begun in begins:
        for gap in gaps if question.gap is None else [question.gap]:
            if last_stroke_falls(question, begun, gap, F(0))[-1] > limit:
                break
            for round_gap in gaps if question.rounds > 1 else [F(0)]:
                falls = last_stroke_falls(question, begun, gap, round_gap)
                if falls[-1] > limit:
                    break
                if landing(question, cycle, falls):
                    found.add((begun, gap, round_gap if question.rounds > 1 else None))
    return found


def way(answer: Answer) -> Way:
    return answer.begins, answer.gap, answer.round_gap


def whole_beats(cycle: Cycle) -> list[Fraction]:
    return [F(beat) for beat in range(1, int(cycle.beats) + 1)]


def wholly_right(question: Question, cycle: Cycle, answer: Answer) -> bool:
    """Return True if an answer's numbers are those of the cadence, walked."""
    falls = last_stroke_falls(question, answer.begins, answer.gap, answer.round_gap or F(0))
    early = "anagat" if question.early else "sam"
    assert tuple(fall + 1 for fall in falls) == answer.ends
    assert answer.cycles == landing(question, cycle, falls)
    return lands(question, cycle, answer) and answer.lands == early


STEPS = st.sampled_from([F(0), F(1), F(-1), F(1, 2), F(-1, 2)])


@given(
    beats=st.integers(2, 8),
    length=st.integers(1, 12).map(lambda halves: F(halves, 2)),
    times=st.integers(2, 4),
    within=st.integers(1, 3),
    step=STEPS,
    early=st.sampled_from([F(0), F(1, 2), F(1)]),
    gati=st.sampled_from([0, 3, 5, 7]),
)
def test_every_tihai_is_found_and_no_other(
    beats: int,
    length: Fraction,
    times: int,
    within: int,
    step: Fraction,
    early: Fraction,
    gati: int,
) -> None:
    cycle = cycle_of(beats, gati=gati)
    question = Question(phrase(length), times, within=within, step=step, early=early)
    found = solve(question, cycle).found
    brute = ways(question, cycle, whole_beats(cycle)) if question.sound else set()
    assert {way(answer) for answer in found} == brute
    assert len(found) == len(brute)
    assert all(wholly_right(question, cycle, answer) for answer in found)


@given(
    beats=st.integers(3, 8),
    length=st.integers(1, 3),
    body=st.integers(0, 4),
    step=STEPS,
    rounds=st.integers(2, 3),
)
def test_every_chakradar_is_found_and_no_other(
    beats: int, length: int, body: int, step: Fraction, rounds: int
) -> None:
    cycle = cycle_of(beats)
    question = Question(
        phrase(length), body=F(body), rounds=rounds, begins=F(1), within=3, step=step
    )
    found = solve(question, cycle).found
    brute = ways(question, cycle, [F(1)]) if question.sound else set()
    assert {way(answer) for answer in found} == brute
    assert len(found) == len(brute)


@settings(max_examples=40)
@given(
    beats=st.integers(3, 10),
    room=st.integers(1, 18).map(lambda halves: F(halves, 2)),
    rounds=st.integers(1, 3),
    step=STEPS,
    body=st.integers(0, 2),
    early=st.sampled_from([F(0), F(1)]),
    gap=st.sampled_from([None, F(0), F(1, 2)]),
)
def test_every_way_to_fill_a_room_is_found_and_no_other(
    beats: int,
    room: Fraction,
    rounds: int,
    step: Fraction,
    body: int,
    early: Fraction,
    gap: Fraction | None,
) -> None:
    cycle = cycle_of(beats)
    asked = Question(
        phrase(1), 3, gap, None, F(body), rounds, early=early, step=step
    )  # its phrase and its window are not looked at
    found = fill(asked, room, cycle).found
    brute = set()
    sam = -(-room // beats) * beats
    for length in range(1, int(room) + 2):
        question = Question(phrase(length), 3, gap, None, F(body), rounds, None, sam, early, step)
        if question.sound:
            for one in ways(question, cycle, [sam - room + 1]):
                falls = last_stroke_falls(question, one[0], one[1], one[2] or F(0))
                if falls[-1] == sam - early:
                    brute.add((length, one))
    assert {(answer.phrase, way(answer)) for answer in found} == brute
    assert len(found) == len(brute)


@given(
    beats=st.integers(3, 9),
    body=st.integers(0, 16).map(lambda halves: F(halves, 2)),
    rounds=st.integers(1, 3),
    begins=st.sampled_from([None, F(2)]),
    step=STEPS,
)
def test_all_that_can_follow_a_body_is_found_and_no_other(
    beats: int, body: Fraction, rounds: int, begins: Fraction | None, step: Fraction
) -> None:
    cycle = cycle_of(beats)
    asked = Question(phrase(1), begins=begins, body=body, rounds=rounds, within=3, step=step)
    found = follow(asked, cycle).found
    brute = set()
    for length in range(1, 3 * beats + 2):
        question = Question(
            phrase(length), begins=begins, body=body, rounds=rounds, within=3, step=step
        )
        if question.sound:
            start = F(1) if begins is None else begins
            brute |= {(length, one) for one in ways(question, cycle, [start])}
    assert {(answer.phrase, way(answer)) for answer in found} == brute
    assert len(found) == len(brute)


@given(
    st.fractions(F(3, 2), 20, max_denominator=4),
    st.fractions(F(1, 2), 9, max_denominator=6),
    st.integers(1, 5),
    st.fractions(0, 6, max_denominator=4),
    st.integers(1, 3),
    st.sampled_from([F(0), F(1, 2), F(1)]),
    STEPS,
)
def test_every_answer_lands(
    beats: Fraction,
    length: Fraction,
    times: int,
    body: Fraction,
    rounds: int,
    early: Fraction,
    step: Fraction,
) -> None:
    question = Question(
        phrase(length),
        times,
        body=body,
        rounds=rounds,
        early=early,
        round_gap=F(0),
        within=3,
        step=step,
    )
    cycle = cycle_of(beats)
    for answer in solve(question, cycle).found:
        assert wholly_right(question, cycle, answer)
        assert answer.gap >= 0
        assert 1 <= answer.begins < beats + 1


def rank(gap: Fraction, gati: int) -> int:
    """Whole beats, half beats, pulses, thirds and quarters."""
    if gap.denominator <= 2:
        return gap.denominator - 1
    return 2 if gati and (gap * gati).denominator == 1 else 3


@pytest.mark.parametrize("gati", [0, 3, 4, 5])
@pytest.mark.parametrize("rounds", [1, 3])
def test_the_plainest_answer_comes_first(gati: int, rounds: int) -> None:
    cycle = cycle_of(16, 1, 5, 13, gati=gati)
    found = solve(Question(phrase(5), times=5 if rounds == 1 else 3, rounds=rounds), cycle).found
    keys = []
    for answer in found:
        between = answer.round_gap or F(0)
        begins = answer.begins
        stress = 0 if begins == 1 else 1 if begins in (5, 13) else 2
        fineness = max(rank(answer.gap, gati), rank(between, gati))
        keys.append((fineness, answer.gap + between, stress, answer.cycles))
    assert keys == sorted(keys)
    assert len({key[0] for key in keys}) >= 3


def test_a_gap_of_pulses_comes_after_half_beats_and_before_thirds() -> None:
    # A body of 1/5 and three fours: 1/5 + 3·4 + 2·(12/5) = 17, countable in a beat of five alone.
    question = Question(phrase(4), begins=F(1), body=F(1, 5), within=2)
    assert not solve(question, cycle_of(16)).found
    gaps = [answer.gap for answer in solve(question, cycle_of(16, gati=5)).found]
    assert gaps == [F(12, 5), F(52, 5)]
    many = solve(Question(phrase(1), rounds=3, within=2), cycle_of(8, gati=5)).found
    assert {rank(answer.gap, 5) for answer in many} == {0, 1, 2, 3}


def test_no_gap_comes_first_wherever_it_begins() -> None:
    first, *others = solve(Question(phrase(5)), cycle_of(16, 1, 5, 13)).found
    assert (first.gap, first.begins) == (0, 3)  # 3·5 = 15, from beat 3 alone
    assert next(a for a in others if a.gap == 1).begins == 1


@given(st.integers(1, 15))
def test_a_room_is_filled_to_sam(room: int) -> None:
    for answer in fill_room(F(room), cycle_of(16)):
        assert answer.ends[-1] == 17
        assert answer.begins == 17 - room
        assert 3 * answer.phrase + 2 * answer.gap == room + 1


@pytest.mark.parametrize("rounds", [1, 3])
def test_a_room_prefers_plain_gaps_then_long_phrases(rounds: int) -> None:
    found = fill(Question(phrase(1), rounds=rounds), F(60), cycle_of(16)).found
    keys = []
    for answer in found:
        between = answer.round_gap or F(0)
        fineness = max(rank(answer.gap, 0), rank(between, 0))
        keys.append((fineness, answer.gap + between, -answer.phrase))
    assert keys == sorted(keys)
    assert len({key[1] for key in keys}) > 3


def test_farmaishi_and_kamali_stand_before_the_rest_of_what_follows_a_body() -> None:
    found = follow(Question(phrase(1), body=F(12), rounds=3, within=12), cycle_of(16)).found
    rare = [answer.kind in ("farmaishi", "kamali") for answer in found]
    assert rare == sorted(rare, reverse=True)
    assert {answer.kind for answer in found} == {"farmaishi", "kamali", "chakradar"}


@pytest.mark.parametrize("rounds", [2, 3])
def test_a_search_says_when_it_stops(rounds: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cadence.search, "MAX_STEPS", 500)
    question = Question(phrase(1), body=F(1), rounds=rounds, within=100)
    assert solve(question, cycle_of(16)).stopped
    assert follow(question, cycle_of(16)).stopped
    assert not solve(Question(phrase(1)), cycle_of(4)).stopped


def test_a_search_in_which_nothing_fits_is_bounded_too(monkeypatch: pytest.MonkeyPatch) -> None:
    # Two gaps are asked for, and all lengths but one are whole: the halves never come out.
    monkeypatch.setattr(cadence.search, "MAX_STEPS", 500)
    statement = Statement(F(1), (F(1, 7**5),))
    question = Question(statement, rounds=3, begins=F(1), within=200)
    solved = solve(question, cycle_of(16))
    assert solved.stopped
    assert not solved.found


def test_an_unheld_phrase_of_a_fifth_division() -> None:
    # Three statements of 1 2/3 beats whose last stroke falls on their last third.
    statement = Statement(F(5, 3), (F(0), F(4, 3)))
    answers = solve(Question(statement, begins=F(1), within=3), cycle_of(4)).found
    assert answers
    for answer in answers:
        assert (2 * (F(5, 3) + answer.gap) + F(4, 3)) % 4 == 0


def test_gaps_in_the_phrase_s_own_divisions_are_found() -> None:
    # One beat of five strokes: 2 (1 + G) + 4/5 is 4 beats where G is 3/5.
    statement = Statement(F(1), tuple(F(part, 5) for part in range(5)))
    gaps = [a.gap for a in solve(Question(statement, begins=F(1), within=1), cycle_of(4)).found]
    assert gaps == [F(3, 5)]


def test_statements_that_shrink_away_are_no_cadence() -> None:
    question = Question(phrase(3), step=F(-2))
    assert not question.sound
    assert solve(question, cycle_of(16)).found == ()
