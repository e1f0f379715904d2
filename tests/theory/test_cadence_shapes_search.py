"""Late landings, an eduppu, yatis, speeds and korvais against brute force: none lacking, none too
many, in the stated order.

Every cadence is walked part by part in cadence_making, which shares no sum with the solver.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st
from support.cadence_making import countable, cycle_of, landing, last_stroke_falls, phrase

from cyclechart.theory.cadence import (
    Answer,
    FirstPart,
    Question,
    Statement,
    follow,
    lands,
    never_counted,
    plainest,
    solve,
    yati_counts,
)
from cyclechart.theory.cycle import Cycle

F = Fraction
Way = tuple[Fraction, Fraction, Fraction | None]
LATE = [F(-1, 2), F(-1), F(-3, 2), F(-5, 2)]
EDUPPU = [F(0), F(1, 2), F(3, 2), F(2)]


def gaps_of(question: Question, cycle: Cycle, limit: Fraction) -> list[Fraction]:
    """Gaps that can be counted, in the parts that the statements are said in too."""
    own = 1
    for length, rate in zip(question.lengths, question.rates, strict=True):
        last = length - question.statement.tail / rate
        for value in (length, last, question.statement.length, question.step):
            own = own * value.denominator // _common(own, value.denominator)
    parts = {F(n, own) for n in range(int(limit * own) + 1)} if own <= 64 else set()
    return sorted({*countable(limit, cycle.gati), *parts})


def _common(a: int, b: int) -> int:
    while b:
        a, b = b, a % b
    return a


def ways(question: Question, cycle: Cycle) -> set[Way]:
    """(begins, gap, second gap) of all that lands, by trying every one."""
    limit = question.within * cycle.beats + abs(question.early) + question.eduppu
    starts = [F(beat) for beat in range(1, int(cycle.beats) + 1)]
    if question.eduppu + 1 not in starts:
        starts.append(question.eduppu + 1)
    if question.gaps_said:  # with all gaps said it begins wherever they have it begin
        starts = [1 + F(part, 12) for part in range(12 * int(cycle.beats))]
    if question.begins is not None:
        starts = [question.begins]
    gaps = gaps_of(question, cycle, limit)
    first = question.first
    seconds = [F(0)]
    if first is not None:
        seconds = gaps if first.gap is None else [first.gap]
    found: set[Way] = set()
    for begun, second in product(starts, seconds):
        for gap in gaps if question.gap is None and question.times > 1 else [question.gap or F(0)]:
            falls = last_stroke_falls(question, begun, gap, second)
            if falls[-1] > limit:
                break
            # Cycles are counted from home to home: from the one at or before its beginning.
            home = (begun - 1 - question.eduppu) // cycle.beats * cycle.beats + question.eduppu
            if landing(question, cycle, [fall - home for fall in falls]):
                found.add((begun, gap, None if first is None else second))
    return found


def way(answer: Answer) -> Way:
    return answer.begins, answer.gap, answer.first_gap


def right(question: Question, cycle: Cycle, answer: Answer) -> None:
    """Check every number of an answer against the cadence, walked."""
    falls = last_stroke_falls(question, answer.begins, answer.gap, answer.first_gap or F(0))
    assert answer.ends == tuple(fall + 1 for fall in falls)
    assert lands(question, cycle, answer)
    assert (falls[-1] + question.early - question.eduppu) % cycle.beats == 0
    how = "atit" if question.early < 0 else "anagat" if question.early else "sam"
    assert answer.lands == how
    early = [n for n, fall in enumerate(falls[:-1]) if (fall - question.eduppu) % cycle.beats == 0]
    assert answer.early_ends(cycle.beats) == tuple(early)


def the_same(question: Question, cycle: Cycle) -> None:
    found = solve(question, cycle).found
    brute = ways(question, cycle) if question.sound else set()
    assert {way(answer) for answer in found} == brute
    assert len(found) == len(brute)
    for answer in found:
        right(question, cycle, answer)
    keys = [key(question, cycle, answer) for answer in found]
    assert keys == sorted(keys)
    few = plainest(question, cycle, 3).found
    assert few[:3] == found[:3]


def key(question: Question, cycle: Cycle, answer: Answer) -> tuple[object, ...]:
    """The stated order of plainness: whole beats, half beats, pulses, thirds and quarters; small
    gaps; from sam, from a stressed beat or the eduppu, from another; few cycles."""
    between = answer.first_gap or F(0)
    stress = 2
    if answer.begins == 1:
        stress = 0
    elif answer.begins in cycle.stressed or answer.begins == question.eduppu + 1:
        stress = 1
    fineness = max(rank(answer.gap, cycle.gati), rank(between, cycle.gati))
    return (fineness, answer.gap + between, stress, answer.cycles)


def rank(gap: Fraction, gati: int) -> int:
    if gap.denominator <= 2:
        return gap.denominator - 1
    return 2 if gati and (gap * gati).denominator == 1 else 3


@settings(max_examples=40)
@given(
    beats=st.integers(2, 8),
    length=st.integers(1, 12).map(lambda halves: F(halves, 2)),
    times=st.integers(1, 4),
    within=st.integers(1, 3),
    early=st.sampled_from([*LATE, F(0), F(1)]),
    eduppu=st.sampled_from(EDUPPU),
    gati=st.sampled_from([0, 3, 5]),
)
def test_every_late_landing_is_found_and_no_other(
    beats: int,
    length: Fraction,
    times: int,
    within: int,
    early: Fraction,
    eduppu: Fraction,
    gati: int,
) -> None:
    cycle = cycle_of(beats, 1, 2, gati=gati)
    question = Question(phrase(length), times, within=within, early=early, eduppu=eduppu % beats)
    the_same(question, cycle)


@settings(max_examples=40)
@given(
    beats=st.integers(2, 8),
    length=st.integers(2, 14).map(lambda halves: F(halves, 2)),
    times=st.integers(2, 6),
    within=st.integers(1, 4),
    step=st.sampled_from([F(1), F(-1), F(1, 2), F(-1, 2), F(2), F(-2)]),
    turns=st.booleans(),
    eduppu=st.sampled_from(EDUPPU),
)
def test_every_yati_is_found_and_no_other(
    beats: int,
    length: Fraction,
    times: int,
    within: int,
    step: Fraction,
    turns: bool,
    eduppu: Fraction,
) -> None:
    question = Question(
        phrase(length), times, within=within, step=step, turns=turns, eduppu=eduppu % beats
    )
    the_same(question, cycle_of(beats))
    for answer in solve(question, cycle_of(beats)).found:
        names = {True: ("mridanga", "damaru"), False: ("srotovaha", "gopuccha")}
        if times > 2 or not turns:
            assert answer.kind == names[turns][step < 0]


@settings(max_examples=40)
@given(
    beats=st.integers(3, 8),
    length=st.integers(2, 9),
    speeds=st.lists(st.sampled_from([F(1), F(3, 2), F(2), F(3), F(1, 2)]), min_size=2, max_size=4),
    within=st.integers(1, 3),
    early=st.sampled_from([F(0), F(-3, 2), F(1)]),
)
def test_statements_at_speeds_are_found_and_no_others(
    beats: int, length: int, speeds: list[Fraction], within: int, early: Fraction
) -> None:
    question = Question(
        phrase(length), len(speeds), within=within, speeds=tuple(speeds), early=early
    )
    the_same(question, cycle_of(beats))
    # L/1 + L/(3/2) + L/2 …: the lengths are those of the phrase, divided.
    assert question.lengths == tuple(length / speed for speed in speeds)


@settings(max_examples=40)
@given(
    beats=st.integers(3, 8),
    first=st.lists(st.integers(1, 4).map(F), min_size=1, max_size=4),
    first_gap=st.sampled_from([None, None, F(0), F(1, 2)]),
    gap=st.sampled_from([None, None, F(0), F(1)]),
    length=st.integers(1, 3),
    body=st.integers(0, 2),
    eduppu=st.sampled_from(EDUPPU),
    begins=st.sampled_from([None, F(1)]),
)
def test_every_korvai_is_found_and_no_other(
    beats: int,
    first: list[Fraction],
    first_gap: Fraction | None,
    gap: Fraction | None,
    length: int,
    body: int,
    eduppu: Fraction,
    begins: Fraction | None,
) -> None:
    question = Question(
        phrase(length),
        gap=gap,
        begins=begins,
        body=F(body),
        within=3,
        first=FirstPart(tuple(first), first_gap),
        eduppu=eduppu % beats,
    )
    the_same(question, cycle_of(beats))
    assert {answer.kind for answer in solve(question, cycle_of(beats)).found} <= {"korvai"}


@settings(max_examples=40)
@given(
    beats=st.integers(3, 8),
    first=st.lists(st.integers(1, 4).map(F), min_size=1, max_size=3),
    eduppu=st.sampled_from(EDUPPU),
)
def test_all_that_can_close_a_first_part_is_found_and_no_other(
    beats: int, first: list[Fraction], eduppu: Fraction
) -> None:
    cycle = cycle_of(beats)
    asked = Question(
        phrase(1), within=3, first=FirstPart(tuple(first), F(0)), eduppu=eduppu % beats
    )
    found = follow(asked, cycle).found
    brute = set()
    for length in range(1, 3 * beats + 2):
        question = Question(
            phrase(length), begins=F(1), within=3, first=asked.first, eduppu=asked.eduppu
        )
        brute |= {(length, one) for one in ways(question, cycle)}
    assert {(answer.phrase, way(answer)) for answer in found} == brute
    assert len(found) == len(brute)


@given(st.integers(3, 9))
def test_the_counts_of_a_yati_are_those_of_its_shape(times: int) -> None:
    # The longest is 0 steps short; each shape read off its name (taylorfrancis.com, 9781315567402).
    assert yati_counts("sama", times) == (0,) * times
    rising, falling = yati_counts("srotovaha", times), yati_counts("gopuccha", times)
    assert list(rising) == sorted(rising, reverse=True)
    assert rising == falling[::-1]
    drum, hourglass = yati_counts("mridanga", times), yati_counts("damaru", times)
    middle = (times + 1) // 2
    assert list(drum[:middle]) == sorted(drum[:middle], reverse=True)
    assert drum == drum[::-1]
    assert [max(drum) - count for count in drum] == list(hourglass)
    assert min(drum) == min(hourglass) == 0


@settings(max_examples=40)
@given(
    beats=st.integers(2, 7),
    length=st.integers(1, 6),
    speeds=st.lists(st.sampled_from([F(1), F(3, 2), F(2), F(4, 3)]), min_size=2, max_size=4),
    eduppu=st.sampled_from(EDUPPU),
    begins=st.sampled_from([None, F(1)]),
)
def test_never_counted_is_so_just_where_no_window_has_an_answer(
    beats: int, length: int, speeds: list[Fraction], eduppu: Fraction, begins: Fraction | None
) -> None:
    question = Question(
        phrase(length),
        len(speeds),
        begins=begins,
        within=40,
        speeds=tuple(speeds),
        eduppu=eduppu % beats,
    )
    cycle = cycle_of(beats)
    assert never_counted(question, cycle) == (not solve(question, cycle).found)


def test_a_statement_without_its_front_keeps_its_close() -> None:
    written = Statement(F(5), (F(0), F(1), F(5, 2), F(4)))
    assert written.without_front(F(2)) == Statement(F(3), (F(1, 2), F(2)))
    by_beats = phrase(5).without_front(F(2))
    assert (by_beats.length, by_beats.onsets, by_beats.written) == (3, (0, 2), False)
