"""Cadences: the sums of the handbooks.

Positions are counted as the books count them: the first beat of the cycle a cadence begins in is 1.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from support.cadence_making import cycle_of, one, phrase

from cyclechart.theory.cadence import Answer, Question, Statement, fill_room, follow, solve

F = Fraction


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


def test_the_farmaishi_comes_out_of_its_body_alone() -> None:
    # Sitar Malika p. 153 again: asked what can follow a body of twelve, said three times.
    answers = follow(Question(phrase(1), body=F(12), rounds=3, within=5), cycle_of(16)).found
    first = answers[0]
    assert (first.phrase, first.gap, first.round_gap, first.kind) == (5, 0, 0, "farmaishi")
    assert first.ends == (17, 22, 27, 44, 49, 54, 71, 76, 81)


def test_the_kamali_comes_out_of_its_body_alone() -> None:
    # Sitar Malika p. 156 again: nine beats that close with three strokes, a beat each.
    answers = follow(Question(phrase(1), body=F(10), rounds=3, within=7), cycle_of(16)).found
    kamalis = [(a.phrase, a.gap, a.round_gap) for a in answers if a.kind == "kamali"]
    assert kamalis[0] == (9, 0, 1)


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


@pytest.mark.parametrize(("length", "gap"), [(9, 1), (7, 4)])
def test_chatusra_tihai_in_seven(length: int, gap: int) -> None:
    # T = 4N + 1, on the page "anjanai": 29 in a cycle of 7 (its own print of 28 is a slip). The two
    # ways to make 29 are printed on rasikas.org: 9(1)9(1)9 and 7(4)7(4)7.
    answer = one(Question(phrase(length), gap=F(gap), begins=F(1)), 7)
    assert (answer.ends[-1], answer.cycles, answer.lands) == (29, 4, "sam")


def test_all_of_29_fill_four_sevens() -> None:
    # The same sum by its room: 28 beats before sam, and the last stroke on it.
    found = {(answer.phrase, answer.gap) for answer in fill_room(F(28), cycle_of(7))}
    assert {(9, 1), (7, 4)} < found
    assert all(3 * length + 2 * gap == 29 for length, gap in found)


def test_srotovaha_of_four_five_six() -> None:
    # rasikas.org: 4(1)5(1)6 = 17.
    answer = one(Question(phrase(4), gap=F(1), begins=F(1), step=F(1)), 16)
    assert answer.ends == (4, 10, 17)
    assert (answer.kind, answer.phrases, answer.phrase) == ("srotovaha", (4, 5, 6), 4)


def test_gopuccha_is_the_same_sum_turned_round() -> None:
    # 6(1)5(1)4 = 17 as 4(1)5(1)6 is.
    answer = one(Question(phrase(6), gap=F(1), begins=F(1), step=F(-1)), 16)
    assert answer.ends == (6, 12, 17)
    assert (answer.kind, answer.phrases) == ("gopuccha", (6, 5, 4))


def test_a_korvai_fills_eight_eights() -> None:
    # rasikas.org: 24 + 25 + 15 = 64 = 8·8. Its last part three times five, the others the body: the
    # last stroke is on beat 64, a beat before the first beat that follows.
    question = Question(phrase(5), gap=F(0), begins=F(1), body=F(24 + 25), within=8, early=F(1))
    answer = one(question, 8)
    assert answer.ends == (54, 59, 64)
    assert (answer.cycles, answer.lands) == (8, "anagat")


def test_a_statement_shrinks_in_front() -> None:
    # Common practice: a cow's tail loses its thick end first, so the last stroke keeps its place
    # before the end. Four beats that end in a hold, then three, then two.
    statement = Statement(F(4), (F(0), F(1), F(2)))
    answer = one(Question(statement, gap=F(0), begins=F(1), step=F(-1), early=F(1)), 8)
    assert answer.ends == (3, 6, 8)
    # Beats of rest: the hold of one, for the stroke after it is now the first one.
    assert answer.silence == 1


@pytest.mark.parametrize(
    ("strokes", "beats"), [(2, 3), (2, 7), (3, 4), (3, 5), (3, 7), (4, 5), (4, 7)]
)
def test_kamali_of_any_k(strokes: int, beats: int) -> None:
    # Sitar Malika pp. 156–159: with k strokes in each statement, stroke q of statement q of round q
    # is on sam for every q. Where it is, is counted here stroke by stroke.
    statement = Statement(F(strokes + 1), tuple(map(F, range(1, strokes + 1))))
    question = Question(statement, strokes, body=F(beats - 1), rounds=strokes, within=5 * strokes)
    kinds = set()
    for answer in solve(question, cycle_of(beats)).found:
        counts = []
        for number in range(strokes):
            begun = answer.ends[number * strokes + number] - statement.last
            counts.append(begun + statement.onsets[number])
        kamali = all(count % beats == 1 for count in counts)
        assert (answer.kind == "kamali") == kamali, answer
        kinds.add(kamali)
    assert kinds == {True, False}


def test_a_kamali_has_as_many_strokes_as_statements_and_rounds() -> None:
    # The same places as the book's kamali, with one stroke more in the statement: none.
    statement = Statement(F(9), (F(0), F(6), F(7), F(8)))
    question = Question(
        statement, gap=F(0), begins=F(1), body=F(10), rounds=3, round_gap=F(1), within=8
    )
    assert one(question, 16).kind == "chakradar"


def test_an_early_chakradar_is_neither_farmaishi_nor_kamali() -> None:
    # Its last stroke is not on sam, and both ask that it is.
    question = Question(phrase(5), body=F(12), rounds=3, within=8, begins=F(1), early=F(1))
    kinds = {answer.kind for answer in solve(question, cycle_of(16)).found}
    assert kinds == {"chakradar"}


def test_a_rest_before_the_first_stroke_is_silence_too() -> None:
    # L + G − a − 1: four beats as written, a = 2 from the first stroke to the last, G = 1.
    statement = Statement(F(4), (F(1), F(2), F(3)))
    answer = one(Question(statement, gap=F(1), begins=F(1)), 13)
    assert (answer.silence, answer.kind) == (2, "damdar")


@pytest.mark.parametrize(
    ("tail", "gap", "silence", "apart"),
    # Five beats as written, what stands after the last stroke among them.
    [
        (F(1), F(1), F(1), F(2)),
        (F(2), F(1), F(2), F(3)),
        # The last stroke is the second of two in a beat: it ends with its statement.
        (F(1, 2), F(1, 4), F(1, 4), F(3, 4)),
        (F(1, 2), F(0), F(0), F(1, 2)),
        (F(3, 2), F(1, 4), F(3, 4), F(7, 4)),
    ],
)
def test_silence_is_what_a_last_stroke_leaves(
    tail: Fraction, gap: Fraction, silence: Fraction, apart: Fraction
) -> None:
    statement = Statement(F(5), (F(0), F(5) - tail))
    (answer, *_) = solve(Question(statement, gap=gap), cycle_of(16)).found
    assert (answer.silence, answer.apart) == (silence, apart)
    # From the last stroke of the first statement to the first of the second, which is as far
    # before its own last.
    assert answer.ends[1] - answer.ends[0] == apart + statement.last


def test_silence_is_never_below_the_gap() -> None:
    for tail in (F(1, 4), F(1, 3), F(1, 2), F(1), F(2)):
        statement = Statement(F(5), (F(0), F(5) - tail))
        for answer in solve(Question(statement), cycle_of(16)).found:
            assert answer.silence >= answer.gap


@pytest.mark.parametrize(("gap", "kind"), [(F(1, 2), "bedam"), (F(3, 4), "damdar")])
def test_a_pause_of_half_a_beat_is_still_none(gap: Fraction, kind: str) -> None:
    # tablalegacy.com: a pause of up to half a beat still counts as bedam.
    (answer,) = solve(Question(phrase(5), gap=gap), cycle_of(16)).found
    assert (answer.silence, answer.kind) == (gap, kind)


def test_nine_statements_that_grow_are_no_nauhakka() -> None:
    # Common practice: a nauhakka says one phrase nine times. (1 + 2 + 3)·3 + 2·14 = 46.
    question = Question(phrase(1), gap=F(0), begins=F(1), rounds=3, round_gap=F(14), step=F(1))
    assert one(question, 45).kind == "chakradar"


def test_what_ends_on_the_beat_it_begins_on_is_no_cadence() -> None:
    assert not solve(Question(phrase(1), 1, F(0), F(1)), cycle_of(16)).found


def test_statements_that_grow_shorter_by_half_a_beat_are_a_gopuccha_too() -> None:
    found = solve(Question(phrase(6), step=F(-1, 2), within=2), cycle_of(16)).found
    assert {answer.kind for answer in found} == {"gopuccha"}


def test_a_farmaishi_may_end_early_in_other_statements_than_its_own() -> None:
    # Its own are the first of the first round and the second of the second.
    ends = tuple(map(F, (17, 33, 34, 35, 49, 50, 51, 52, 81)))
    answer = Answer(
        begins=F(1),
        gap=F(0),
        round_gap=F(0),
        phrase=F(5),
        cycles=5,
        ends=ends,
        kind="farmaishi",
        lands="sam",
        silence=F(0),
        apart=F(5),
        rounds=3,
    )
    assert answer.early_ends(F(16)) == (1,)
    assert replace(answer, kind="chakradar").early_ends(F(16)) == (0, 1, 4)
