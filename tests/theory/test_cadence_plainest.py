"""The plainest few answers against all of them."""

from __future__ import annotations

from fractions import Fraction as F

from hypothesis import given
from hypothesis import strategies as st

from cyclechart.theory.cadence import Question, Statement, never_whole, plainest, solve
from cyclechart.theory.cycle import Cycle

MANY = 6

cycles = st.sampled_from(
    [
        Cycle(
            name="seven",
            beats=F(7),
            sections=(F(3), F(2), F(2)),
            stressed=(F(4), F(6)),
            open=(F(1),),
        ),
        Cycle(
            name="ten",
            beats=F(10),
            sections=(F(2), F(3), F(2), F(3)),
            stressed=(F(1), F(3), F(8)),
            open=(F(6),),
        ),
        Cycle(
            name="broken",
            beats=F(23, 2),
            sections=(F(4), F(4), F(7, 2)),
            stressed=(F(1), F(9)),
            open=(F(5),),
        ),
        Cycle(
            name="five pulses",
            beats=F(8),
            sections=(F(4), F(2), F(2)),
            stressed=(F(1), F(5), F(7)),
            gati=5,
        ),
    ]
)
gaps = st.sampled_from([None, None, F(0), F(1), F(1, 2), F(3, 7)])
questions = st.builds(
    lambda length, last, times, gap, begins, body, rounds, between, within, early, step, lead: (
        Question(
            Statement(length, (F(0), min(last, length - F(1, 4)))),
            times, gap, begins, body, rounds, between, within, early, step, lead,
        )
    ),
    st.sampled_from([F(2), F(3), F(5), F(7, 2), F(8, 3), F(9, 5)]),
    st.sampled_from([F(1), F(3, 2), F(2)]),
    st.integers(1, 4),
    gaps,
    st.sampled_from([None, None, F(1), F(3), F(5, 2)]),
    st.sampled_from([F(0), F(2), F(7, 2)]),
    st.integers(1, 3),
    gaps,
    st.integers(1, 5),
    st.sampled_from([F(0), F(0), F(1), F(-1, 2)]),
    st.sampled_from([F(0), F(0), F(1, 2)]),
    st.sampled_from([F(0), F(0), F(3)]),
)  # fmt: skip


@given(questions, cycles)
def test_they_are_the_first_of_all(question: Question, cycle: Cycle) -> None:
    every = solve(question, cycle)
    few = plainest(question, cycle, MANY)
    assert not few.stopped
    assert not every.stopped
    assert few.found[:MANY] == every.found[:MANY]
    assert len(few.found) >= min(MANY, len(every.found))


@given(questions, cycles)
def test_what_never_comes_out_whole_has_no_answer(question: Question, cycle: Cycle) -> None:
    if never_whole(question, cycle):
        assert not solve(question, cycle).found


def test_sevenths_never_come_out_in_gaps_of_quarters() -> None:
    cycle = Cycle(name="sixteen", beats=F(16), sections=(F(4),) * 4, stressed=(F(1),))
    phrase = Statement(F(3), (F(0), F(2)))
    assert never_whole(Question(phrase, body=F(15, 7)), cycle)
    assert not never_whole(Question(phrase, body=F(15, 2)), cycle)


def test_a_wide_window_costs_nothing_where_plain_answers_are_near() -> None:
    cycle = Cycle(name="sixteen", beats=F(16), sections=(F(4),) * 4, stressed=(F(1),))
    question = Question(Statement.of_beats(F(5)), rounds=3, within=64)
    few = plainest(question, cycle)
    assert len(few.found) >= 12
    assert few.looked_at < 1_000


def test_a_search_that_is_cut_short_says_so() -> None:
    cycle = Cycle(name="sixteen", beats=F(16), sections=(F(4),) * 4, stressed=(F(1),))
    question = Question(Statement.of_beats(F(5)), rounds=3, within=64)
    few = plainest(question, cycle, 10**6, 50)
    assert few.stopped
    assert few.looked_at >= 50


def test_the_bound_that_is_given_is_the_one_that_holds() -> None:
    cycle = Cycle(name="sixteen", beats=F(16), sections=(F(4),) * 4, stressed=(F(1),))
    question = Question(Statement.of_beats(F(5)), rounds=3, within=64)
    # It stops with the pairs of gaps of the sum that it has come to: of few beats, few pairs.
    few = plainest(question, cycle, 10**6, 50)
    assert 50 <= few.looked_at < 100
    assert plainest(question, cycle, 10**6, 1).looked_at == 1
    both = Question(Statement.of_beats(F(5)), gap=F(0), within=64)
    assert plainest(both, cycle, 12, 0).stopped == solve(both, cycle, 0).stopped is True
