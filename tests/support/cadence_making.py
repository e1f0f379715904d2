"""Helpers of the cadence tests: cycles, phrases, and a cadence walked stroke by stroke."""

from __future__ import annotations

from fractions import Fraction

from cyclechart.theory.cadence import Answer, Question, Statement, solve
from cyclechart.theory.cycle import Cycle

F = Fraction


def cycle_of(beats: Fraction | int, *stressed: int, gati: int = 0) -> Cycle:
    """A cycle of one section."""
    claps = tuple(map(F, stressed)) or (F(1),)
    return Cycle(name="test", beats=F(beats), sections=(F(beats),), stressed=claps, gati=gati)


def phrase(beats: Fraction | int) -> Statement:
    """A phrase known by its beats."""
    return Statement.of_beats(F(beats))


def single_answer(question: Question, beats: int) -> Answer:
    """The only answer."""
    (answer,) = solve(question, cycle_of(beats)).found
    return answer


def last_stroke_falls(
    question: Question, begins: Fraction, gap: Fraction, round_gap: Fraction
) -> list[Fraction]:
    """Return the place of each last stroke (0 is the first beat of its first cycle), by walking
    through the cadence part by part.

    In a korvai without rounds ``round_gap`` is the one after each phrase of its first part.
    """
    at = begins - 1
    falls = []
    for turn in range(question.rounds):
        at += round_gap if turn else 0
        at += question.body
        if question.first is not None:
            for phrase_length in question.first.lengths:
                at += phrase_length
                at += round_gap if question.rounds == 1 else question.first.gap or 0
        length = question.statement.length
        for number in range(question.times):
            at += gap if number else 0
            rate = question.speeds[number] if question.speeds else F(1)
            at += length / rate
            falls.append(at - question.statement.tail / rate)
            back = question.turns and number + 1 > (question.times - 1) / 2
            middle = question.turns and 2 * (number + 1) == question.times
            length += 0 if middle else -question.step if back else question.step
    return falls


def countable(limit: Fraction | int, gati: int = 0) -> list[Fraction]:
    """Gaps up to a limit that can be counted: down to quarters, or in pulses."""
    sizes = {F(1, part) for part in (1, 2, 3, 4, gati or 1)}
    return sorted({n * size for size in sizes for n in range(int(limit / size) + 1)})


def landing(question: Question, cycle: Cycle, falls: list[Fraction]) -> int | None:
    """The cycles after which a cadence with these last strokes lands, if it does in the window."""
    cycles = (falls[-1] + question.early) / cycle.beats
    return int(cycles) if cycles.denominator == 1 and 1 <= cycles <= question.within else None
