"""Korvais, yatis, speeds and an eduppu as pages print them; each source stands beside its sums.

Most pages count a korvai's pulses to the end of its last phrase, and sam comes on the next pulse;
here the last stroke itself falls on sam. So a statement that is printed as 9 with sam after it is
asked for as 9 with a closing stroke on the first beat, a phrase of the same 9 whose stroke on sam
opens what follows: three of 9 and two gaps are counted to the pulse before sam.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from support.cadence_making import cycle_of, phrase

from cyclechart.theory.cadence import FirstPart, Question, Statement, follow, solve, yati_counts

F = Fraction


def filling(length: int) -> Statement:
    """A phrase of so many pulses that fill up to the pulse before the next: a stroke on each, and
    what follows it falls right after."""
    return Statement(F(length), (F(0), F(length) - 1))


@pytest.mark.parametrize("statement, gap", [(9, 1), (7, 4)])
def test_a_korvai_in_gopuccha_in_four_cycles_of_adi(statement: int, gap: int) -> None:
    # https://www.rasikas.org/forums/viewtopic.php?p=380684: 24 + (5*6 + 5*4 + 5*3 + 5*2) + 29 =
    # 128, four cycles of 32 pulses; "27+2 -> 9(1)9(1)9 OR 21+8 -> 7(4)7(4)7".
    first = FirstPart((F(24), F(30), F(20), F(15), F(10)), F(0))
    question = Question(filling(statement), begins=F(1), first=first, within=4, early=F(1))
    found = solve(question, cycle_of(32)).found
    assert (F(gap), F(0)) in [(answer.gap, answer.first_gap) for answer in found]
    last = next(answer for answer in found if answer.gap == gap).ends[-1]
    assert last == sum(first.lengths) + 3 * statement + 2 * gap == 128


def test_the_first_part_alone_is_answered_by_both_printed_closes() -> None:
    # The same page: what closes 99 pulses in four cycles of 32 is 9(1)9(1)9 or 7(4)7(4)7.
    first = FirstPart((F(24), F(75)), F(0))
    asked = Question(phrase(1), begins=F(1), first=first, within=4, early=F(1))
    whole = [
        (answer.phrase, answer.gap)
        for answer in follow(asked, cycle_of(32)).found
        if answer.cycles == 4 and answer.gap.denominator == 1
    ]
    assert {(F(9), F(1)), (F(7), F(4))} <= set(whole)
    assert all(3 * length + 2 * gap == 29 for length, gap in whole)
    assert len(whole) == len([length for length in range(1, 10, 2) if (29 - 3 * length) % 2 == 0])


def test_a_korvai_of_64_pulses_in_two_cycles() -> None:
    # The same page: 24 + 25 (5*3 + 5*2) + 15 = 64; the last 15 are 5 5 5 without a gap.
    first = FirstPart((F(24), F(15), F(10)), F(0))
    question = Question(filling(5), begins=F(1), first=first, within=2, early=F(1))
    (answer,) = solve(question, cycle_of(32)).found
    assert (answer.gap, answer.ends[-1], answer.cycles) == (0, 64, 2)


@pytest.mark.parametrize(("lengths", "total"), [((3, 4, 5), 14), ((4, 5, 6), 17), ((5, 6, 7), 20)])
def test_a_close_in_srotovaha(lengths: tuple[int, ...], total: int) -> None:
    # The same page: 3(1)4(1)5 = 14, 4(1)5(1)6 = 17, 5(1)6(1)7 = 20.
    question = Question(filling(lengths[0]), gap=F(1), step=F(1), early=F(1), within=1)
    (answer,) = solve(question, cycle_of(32)).found
    assert answer.phrases == lengths
    assert answer.kind == "srotovaha"
    assert 32 - answer.begins + 1 == total


def test_reductions_in_threes_fill_three_cycles_of_rupaka_and_six_of_khanda_chapu() -> None:
    # http://rasikas.org/forum/viewtopic.php?f=8&p=225235: 4 4 4 1 3 / 3 3 3 1 3 / 2 2 2 1 = 36 =
    # 3·12; 6(1)6(1)6 1 3 / 5(1)5(1)5 1 3 / 4(1)4(1)4 1 = 60 = 6·10. The close is what is asked for.
    rupaka = FirstPart((F(16), F(13)), F(0))
    three = Question(Statement(F(2), (F(0), F(1))), begins=F(1), first=rupaka, early=F(2), within=3)
    assert [(a.gap, a.cycles) for a in solve(three, cycle_of(12)).found] == [(0, 3)]
    khanda = FirstPart((F(24), F(21)), F(0))
    six = Question(filling(4), begins=F(1), first=khanda, early=F(2), within=6)
    assert (F(1), 6) in [(a.gap, a.cycles) for a in solve(six, cycle_of(10)).found]


def test_a_korvai_from_sam_to_an_eduppu_fills_whole_cycles_and_six_pulses() -> None:
    # http://ajsriram.blogspot.com/2004/01/anaagatha-atheetha.html: the eduppu is "one and half
    # aksharams from the start of the taalam or three eighths way into the laghu".
    eduppu = F(6)  # of 32 pulses, four to an akshara
    assert eduppu / 4 == F(3, 2)
    assert eduppu / 16 == F(3, 8)
    first = FirstPart((F(12), F(10), F(8)), None)
    question = Question(filling(5), begins=F(1), first=first, within=5, eduppu=eduppu)
    for answer in solve(question, cycle_of(32)).found:
        assert answer.first_gap is not None
        filled = 30 + 3 * answer.first_gap + 14 + 2 * answer.gap
        assert filled % 32 == 6


def test_the_shapes_in_numbers() -> None:
    # From memory: 9 7 5 3, 3 5 7 9, 3 5 7 5 3 and 7 5 3 5 7.
    def lengths(yati: str, longest: int, times: int) -> list[int]:
        return [longest - 2 * count for count in yati_counts(yati, times)]  # type: ignore[arg-type]

    assert lengths("gopuccha", 9, 4) == [9, 7, 5, 3]
    assert lengths("srotovaha", 9, 4) == [3, 5, 7, 9]
    assert lengths("mridanga", 7, 5) == [3, 5, 7, 5, 3]
    assert lengths("damaru", 7, 5) == [7, 5, 3, 5, 7]


def test_a_dupalli_of_eight_syllables_in_tintal() -> None:
    # https://sahityakalp.com/dupalli-tipalli-chaupalli: tita kata gadi gana at one a beat (8), dha
    # dha dha (3), the same at two a beat (4), dhadha (1), and dha on sam: 8 + 3 + 4 + 1 = 16.
    question = Question(
        Statement(F(8), tuple(map(F, range(8)))),
        2,
        gap=F(3),
        begins=F(1),
        within=1,
        speeds=(F(1), F(2)),
        early=F(3, 2),
    )
    (answer,) = solve(question, cycle_of(16)).found
    assert answer.kind == "dupalli"
    assert answer.phrases == (8, 4)
    assert answer.ends == (8, F(31, 2))  # its last syllable, with dhadha and dha after it
    assert not solve(replace(question, gap=F(2)), cycle_of(16)).found


@pytest.mark.parametrize(
    ("speeds", "kind"),
    [
        ((F(1), F(3, 2), F(2)), "tripalli"),
        ((F(1), F(3, 2), F(2), F(3)), "chaupalli"),
        ((F(1), F(2)), "dupalli"),
        ((F(2), F(1), F(2)), "speeds"),
        ((F(1), F(2), F(3), F(4), F(5)), "speeds"),
    ],
)
def test_speeds_have_the_trade_s_words(speeds: tuple[Fraction, ...], kind: str) -> None:
    # The usual speeds are from memory: 1, 1 1/2, 2 and 3.
    question = Question(phrase(12), len(speeds), within=9, speeds=speeds, early=-F(1, 6) * 0)
    kinds = {answer.kind for answer in solve(question, cycle_of(7)).found}
    assert kinds <= {kind}
    assert question.lengths == tuple(12 / speed for speed in speeds)
