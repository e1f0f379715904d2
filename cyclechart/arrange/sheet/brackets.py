"""The brackets over a strain's notes: statements of a cadence, and groups at another speed."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from cyclechart.piece.line import Cadence, Line
from cyclechart.text.timing import Speed
from cyclechart.theory.exact import show_exact


@dataclass(frozen=True, slots=True)
class Bracket:
    """A bracket over notes of a strain.

    ``first`` and ``last`` are indices of notes; ``label`` is the text over the first, or "".
    """

    kind: Literal["statement", "speed"]
    first: int
    last: int
    label: str


def line_brackets(line: Line) -> tuple[Bracket, ...]:
    """Return the brackets of a line in the order in which they begin, longer ones first."""
    starts = [note.start for note in line.notes]
    brackets = [*_speed_brackets(line.speeds, starts), *_statement_brackets(line.cadences, starts)]
    return tuple(sorted(brackets, key=lambda bracket: (bracket.first, -bracket.last)))


def _notes_between(
    starts: list[Fraction], start: Fraction, end: Fraction
) -> tuple[int, int] | None:
    """Return the indices of the first and last notes that begin from ``start`` up to ``end``, or
    None where none does."""
    first, last = bisect_left(starts, start), bisect_left(starts, end) - 1
    return (first, last) if first <= last else None


def _speed_brackets(speeds: tuple[Speed, ...], starts: list[Fraction]) -> Iterator[Bracket]:
    """Yield brackets over groups at another speed than the beat's; a group that continues the
    speed of the one just before has no label."""
    before: Speed | None = None
    for speed in speeds:
        notes = _notes_between(starts, speed.start, speed.end)
        goes_on = before is not None and before.end == speed.start and before.speed == speed.speed
        before = speed
        if notes is not None and speed.speed != 1:
            yield Bracket("speed", *notes, "" if goes_on else speed_label(speed))


def speed_label(speed: Speed) -> str:
    """Return ``×2`` or ``×2 dugun``: the ratio first, since schools differ in the words."""
    ratio = f"×{speed.speed}"
    return f"{ratio} {speed.word}" if speed.word else ratio


def _statement_brackets(cadences: tuple[Cadence, ...], starts: list[Fraction]) -> Iterator[Bracket]:
    for cadence in cadences:
        for number, (start, end) in enumerate(cadence.first_part):
            notes = _notes_between(starts, cadence.start + start, cadence.start + end)
            if notes is not None:
                number %= max(1, len(cadence.first_part) // cadence.question.rounds)
                yield Bracket("statement", *notes, _first_part_label(cadence, number))
        times = cadence.question.times
        for number, (start, end) in enumerate(cadence.statements):
            notes = _notes_between(starts, cadence.start + start, cadence.start + end)
            if notes is not None:
                round_number, statement = divmod(number, times)
                yield Bracket(
                    "statement", *notes, _statement_label(cadence, round_number, statement)
                )


def _first_part_label(cadence: Cadence, number: int) -> str:
    """Return ``first part, gap 1`` for the first phrase of a korvai, a for the next."""
    if number:
        return chr(ord("a") + number % 26) * (1 + number // 26)
    first = cadence.question.first
    gap = first.gap if first is not None else None
    if cadence.answer is not None:
        gap = cadence.answer.first_gap
    return "first part" + (f", gap {show_exact(gap)}" if gap else "")


def _statement_label(cadence: Cadence, round_number: int, statement: int) -> str:
    """Return ``×3, gap 1`` for the first statement and the number of a later one.

    In a chakradar the number of the round comes first: 2.1 is the first statement of round 2.
    """
    question, answer = cadence.question, cadence.answer
    if question.rounds > 1:
        return f"{round_number + 1}.{statement + 1}"
    if statement:
        return str(statement + 1)
    gap = answer.gap if answer is not None else question.gap or Fraction(0)
    return f"×{question.times}" + (f", gap {show_exact(gap)}" if gap else "")
