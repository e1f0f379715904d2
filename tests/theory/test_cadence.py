"""Cadences: the sums of the handbooks, and the solver against brute force.

Positions are counted as the books count them: the first beat of the cycle a cadence begins in is 1.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.theory.cadence import (
    Answer,
    Question,
    Statement,
    fill_room,
    lands,
    nearest_length,
    solve,
)
from cyclechart.theory.cycle import Cycle

F = Fraction


def cycle_of(beats: Fraction | int, *stressed: int) -> Cycle:
    return Cycle("test", F(beats), (F(beats),), tuple(map(F, stressed)) or (F(1),))


def phrase(beats: Fraction | int) -> Statement:
    return Statement.of_beats(F(beats))


def one(question: Question, beats: int) -> Answer:
    """The only answer."""
    (answer,) = solve(question, cycle_of(beats)).found
    return answer


# The bedam and damdar sums 3P = nL + 1 and 3P + 2D = nL + 1 are printed on D. Courtney's pages on
# the tihai (citing Vashisht 1977:143) and on nasehpour.com (3t = nd + 1).
@pytest.mark.parametrize(
    ("beats", "length", "gap", "cycles", "ends", "kind"),
    [
        (16, 11, 0, 2, (11, 22, 33), "bedam"),
        (10, 9, 7, 4, (9, 25, 41), "damdar"),
        (16, 5, 1, 1, (5, 11, 17), "damdar"),
    ],
)
def test_tihais_from_sam(
    beats: int, length: int, gap: int, cycles: int, ends: tuple[int, ...], kind: str
) -> None:
    answer = one(Question(phrase(length), gap=F(gap), begins=F(1)), beats)
    assert (answer.cycles, answer.ends, answer.kind) == (cycles, ends, kind)
    assert answer.silence == gap


@pytest.mark.parametrize(
    ("beats", "lengths"),
    # The consequence of 3P = kn + 1 (tablalegacy.com and recomputed): none where 3 divides n.
    [(16, [11, 27]), (10, [7, 17]), (7, [5, 12]), (14, [5, 19]), (8, [3, 11]),
     (6, []), (9, []), (12, []), (15, [])],
)  # fmt: skip
def test_whole_beat_bedam_from_sam_to_sam(beats: int, lengths: list[int]) -> None:
    found = [
        length
        for length in range(1, 28)
        if solve(Question(phrase(length), gap=F(0), begins=F(1), within=12), cycle_of(beats)).found
    ]
    assert [length for length in lengths if length <= 27] == found[: len(lengths)]
    assert bool(found) == bool(lengths)


def test_farmaishi_of_twelve_and_three_fives() -> None:
    # Sitar Malika p. 153: 12 + 5×3 = 27, said three times; strokes 17, 49 and 81 on sam.
    question = Question(
        phrase(5), gap=F(0), begins=F(1), body=F(12), rounds=3, round_gap=F(0), within=5
    )
    answer = one(question, 16)
    assert answer.ends == (17, 22, 27, 44, 49, 54, 71, 76, 81)
    assert answer.kind == "farmaishi"


def test_kamali_of_three() -> None:
    # Sitar Malika p. 156: [10 + (6 + 3)·3 + 1]·3 − 1 = 113 = 7·16 + 1; 17, 65 and 113 on sam.
    # A body of ten, a statement of nine whose three strokes fall on its beats 7, 8 and 9, a beat
    # between the rounds.
    statement = Statement(F(9), (F(6), F(7), F(8)))
    question = Question(
        statement, gap=F(0), begins=F(1), body=F(10), rounds=3, round_gap=F(1), within=8
    )
    answer = one(question, 16)
    assert answer.kind == "kamali"
    assert answer.ends[-1] == 113
    strokes = [answer.ends[3 * q + q] - 2 + q for q in range(3)]
    assert strokes == [17, 65, 113]


def test_nauhakka_is_nine_in_three_groups() -> None:
    # 9p + 6g + 2h = kn + 1 (common practice): 9·1 + 6·0 + 2·4 = 17.
    question = Question(phrase(1), gap=F(0), begins=F(1), rounds=3, round_gap=F(4), within=1)
    assert one(question, 16).kind == "nauhakka"


@pytest.mark.parametrize("pattern", [(4, 2), (2, 5)])
def test_anagat_ends_a_beat_before_sam(pattern: tuple[int, int]) -> None:
    # An encyclopaedia's examples in 16: 4-2-4-2-4 and 2-5-2-5-2 fill the cycle exactly.
    length, gap = pattern
    question = Question(phrase(length), gap=F(gap), begins=F(1), early=F(1))
    answer = one(question, 16)
    assert answer.ends[-1] == 16
    assert answer.lands == "anagat"


def test_the_plainest_answer_comes_first() -> None:
    cycle = cycle_of(16, 1, 5, 13)
    found = solve(Question(phrase(5)), cycle).found
    keys = [(min(a.gap.denominator, 3), a.gap) for a in found]
    assert keys == sorted(keys)
    first = found[0]
    assert first.gap == 0
    assert first.begins not in (1, 5, 13)  # no gap: 3·5 = 15, from beat 3 alone
    assert first.begins == 3
    whole = [a for a in found if a.gap == 1]
    assert whole[0].begins == 1


@given(
    st.fractions(F(3, 2), 20, max_denominator=4),
    st.fractions(F(1, 2), 9, max_denominator=6),
    st.integers(1, 5),
    st.fractions(0, 6, max_denominator=4),
    st.integers(1, 3),
    st.sampled_from([F(0), F(1, 2), F(1)]),
)
def test_every_answer_lands(
    beats: Fraction,
    length: Fraction,
    times: int,
    body: Fraction,
    rounds: int,
    early: Fraction,
) -> None:
    question = Question(
        phrase(length), times, body=body, rounds=rounds, early=early, round_gap=F(0), within=3
    )
    cycle = cycle_of(beats)
    for answer in solve(question, cycle).found:
        assert lands(question, cycle, answer)
        last = answer.ends[-1] - 1 + early
        assert last == answer.cycles * beats
        assert answer.gap >= 0
        assert 1 <= answer.begins < beats + 1


@given(st.integers(2, 9), st.integers(1, 6), st.integers(2, 4), st.integers(1, 3))
def test_brute_force_finds_the_same_answers(
    beats: int, length: int, times: int, within: int
) -> None:
    question = Question(phrase(length), times, within=within)
    solved = {(a.begins, a.gap) for a in solve(question, cycle_of(beats)).found}
    brute = set()
    for begins in range(1, beats + 1):
        for twelfth in range(12 * within * beats + 1):
            gap = F(twelfth, 12)
            if gap.denominator > 4:
                continue
            last = begins - 1 + (times - 1) * (length + gap) + length - 1
            if last % beats == 0 and 1 <= last // beats <= within:
                brute.add((F(begins), gap))
    assert solved == brute


@given(st.integers(3, 8), st.integers(1, 3), st.integers(0, 4))
def test_brute_force_agrees_on_chakradars(beats: int, length: int, body: int) -> None:
    question = Question(phrase(length), body=F(body), rounds=3, begins=F(1), within=4)
    solved = {(a.gap, a.round_gap) for a in solve(question, cycle_of(beats)).found}
    brute = set()
    grid = [F(t, 12) for t in range(12 * 4 * beats + 1) if F(t, 12).denominator <= 4]
    for gap in grid:
        unit = body + 3 * length + 2 * gap
        if 3 * unit - 1 > 4 * beats:
            break
        for round_gap in grid:
            last = 3 * unit + 2 * round_gap - 1
            if last > 4 * beats:
                break
            if last % beats == 0:
                brute.add((gap, round_gap))
    assert solved == brute


@given(st.integers(1, 15))
def test_a_room_is_filled_to_sam(room: int) -> None:
    cycle = cycle_of(16)
    for answer in fill_room(F(room), cycle):
        assert answer.ends[-1] == 17
        assert answer.begins == 17 - room
        assert 3 * answer.phrase + 2 * answer.gap == room + 1


def test_the_nearest_length_that_has_an_answer() -> None:
    question = Question(phrase(10), gap=F(0), begins=F(1), within=2)
    assert not solve(question, cycle_of(16)).found
    assert nearest_length(question, cycle_of(16)) == 11


def test_the_search_says_when_it_stops() -> None:
    question = Question(phrase(1), body=F(1), rounds=3, within=10_000)
    assert solve(question, cycle_of(256)).stopped


def test_an_unheld_phrase_of_a_fifth_division() -> None:
    # Three statements of 1 2/3 beats whose last stroke falls on their last third.
    statement = Statement(F(5, 3), (F(0), F(4, 3)))
    answers = solve(Question(statement, begins=F(1), within=3), cycle_of(4)).found
    assert answers
    for answer in answers:
        assert (2 * (F(5, 3) + answer.gap) + F(4, 3)) % 4 == 0
