"""The searches: every gap and beginning of a phrase, every phrase that fills a room or a body."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from fractions import Fraction

from cyclechart.theory.cadence.sums import Sums
from cyclechart.theory.cadence.terms import Answer, Answers, Question, Statement
from cyclechart.theory.cycle import Cycle

MAX_STEPS = 400_000
"""A search looks at so many candidates and no more, and says so."""

MOST_PHRASES = 10_000
"""Beats. No phrase longer than this is tried on a room or a body."""

Key = tuple[int, ...]


def lands(question: Question, cycle: Cycle, answer: Answer) -> bool:
    """Return whether an answer lands, by the sum alone."""
    last = answer.ends[-1] - 1 + question.early - question.eduppu
    return last % cycle.beats == 0


def solve(question: Question, cycle: Cycle, most: int | None = None) -> Answers:
    """Every answer in the window, in order of plainness.

    Whole-beat gaps before half-beat ones, before those in the cycle's pulses (its gati), before
    third- and quarter-beat ones; small gaps; beginning on sam, then on a stressed beat, then on
    another; few cycles. The search looks at ``most`` candidates (``MAX_STEPS``) and no more.
    """
    return _search([Sums(question, cycle)], range(1, question.within + 1), _as_it_is, most)


def fill(question: Question, room: Fraction, cycle: Cycle) -> Answers:
    """Every phrase whose cadence fills the ``room`` left before sam, from its beginning to sam.

    The question's own statement and beginning are not looked at, nor is its window: phrases in
    whole beats (the first of a growing or shrinking round), gaps as in ``solve``. Plain and small
    gaps first, then long phrases: as the room is given, the small gap within a sum of gaps goes
    with the long phrase.
    """
    landing = -(-room // cycle.beats)
    begins = (landing * cycle.beats - room + question.eduppu) % cycle.beats + 1
    asked = replace(question, begins=begins, within=landing)
    return _search(_phrases(asked, cycle), [landing], _as_it_is)


def fill_room(room: Fraction, cycle: Cycle, times: int = 3) -> tuple[Answer, ...]:
    """Every (phrase, gap) whose last stroke falls on sam when ``room`` beats are left before it.

    Phrases in whole beats, gaps down to quarters; plain and small gaps first.
    """
    return fill(Question(Statement.of_beats(Fraction(1)), times), room, cycle).found


def follow(question: Question, cycle: Cycle) -> Answers:
    """Every phrase that can follow the question's body so that it lands within the window.

    The question's own statement is not looked at: phrases in whole beats, gaps as in ``solve``.
    Where no beginning is asked for it begins on sam. Farmaishi and kamali stand first, the rest in
    order of plainness.
    """
    asked = replace(question, begins=question.begins or Fraction(1))

    def key(plain: Key, answer: Answer) -> Key:
        rare = answer.kind in ("farmaishi", "kamali")
        return (0 if rare else 1, *plain, int(answer.phrase))

    return _search(_phrases(asked, cycle), range(1, question.within + 1), key)


def soonest(question: Question, cycle: Cycle, within: int, most: int | None = None) -> int | None:
    """In how few cycles of a wider window a question has an answer; None where it has none.

    It looks at ``most`` candidates (``MAX_STEPS``) and no more.
    """
    return look(question, cycle, within, MAX_STEPS if most is None else most)[0]


def look(question: Question, cycle: Cycle, within: int, most: int) -> tuple[int | None, int]:
    """As ``soonest``, and how many candidates were looked at."""
    sums = Sums(replace(question, within=within), cycle)
    steps = 0
    for found in sums.candidates(range(1, within + 1)):
        if steps >= most:
            break
        steps += 1
        cycles = sums.cycles(found)
        if cycles is not None:
            return cycles, steps
    return None, steps


def _as_it_is(plain: Key, _answer: Answer) -> Key:
    return plain


def _phrases(question: Question, cycle: Cycle) -> Iterator[Sums]:
    """The question put to each phrase of whole beats that the window has room for."""
    for beats in range(1, MOST_PHRASES + 1):
        statement = Statement.of_beats(Fraction(beats))
        asked = replace(question, statement=statement)
        if not asked.sound:
            continue
        sums = Sums(asked, cycle)
        start = (sums.begins or sums.unit) - sums.unit
        last = sums.last(start, sums.gap or 0, sums.round_gap or 0) + sums.early
        if last > question.within * sums.beats:
            return
        yield sums


def _search(
    questions: Iterable[Sums],
    landings: range | list[int],
    order: Callable[[Key, Answer], Key],
    most: int | None = None,
) -> Answers:
    """The answers to all the questions that land after one of so many cycles, sorted."""
    found: list[tuple[Key, Answer]] = []
    limit = MAX_STEPS if most is None else most
    steps = 0
    stopped = False
    for sums in questions:
        for candidate in sums.candidates(landings):
            steps += 1
            if steps > limit:
                stopped = True
                break
            cycles = sums.cycles(candidate)
            if cycles is not None and cycles in landings:
                answer = sums.answer(candidate, cycles)
                found.append((order(sums.plainness(candidate, cycles), answer), answer))
        if stopped:
            break
    found.sort(key=_key)
    return Answers(tuple([answer for _, answer in found]), stopped, steps)


def _key(item: tuple[Key, Answer]) -> Key:
    return item[0]
