"""The arithmetic of cadences: statements said several times so that the last stroke meets sam.

A statement of length L (as written, holds and rests at its end included), whose last stroke falls
``last`` after its beginning, is said N times with a gap G after each, the last apart; a body of
length A may stand before the statements, and the whole, a round, may be said R times with a gap Γ
between. Beginning on beat s of a cycle of n, the last stroke of statement i of round r falls at

    s − 1 + r (A + N L + (N−1) G + Γ) + A + i (L + G) + last

beats from the first beat of the cycle it begins in; the cadence lands when the very last one is a
multiple of n (or so much before one, for anagat). All lengths are exact.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from cyclechart.theory.cycle import Cycle

Kind = Literal["single", "bedam", "damdar", "nauhakka", "chakradar", "farmaishi", "kamali"]

BREATHLESS = Fraction(1, 2)
"""A silence of up to half a beat between statements still counts as none (bedam)."""

FINEST_GAP = 4
"""Gaps are in whole beats, halves, thirds or quarters."""

MAX_STEPS = 400_000
"""The search looks at so many candidates and no more, and says so."""


@dataclass(frozen=True, slots=True)
class Statement:
    """What is said: its length as written and the onsets of its strokes, in beats."""

    length: Fraction
    onsets: tuple[Fraction, ...]

    @classmethod
    def of_beats(cls, beats: Fraction) -> Statement:
        """A phrase known only by its beats: its last stroke fills the last one."""
        last = max(Fraction(0), beats - 1)
        return cls(beats, (Fraction(0), last) if last else (Fraction(0),))

    @property
    def last(self) -> Fraction:
        """From its beginning to its last stroke."""
        return self.onsets[-1]

    @property
    def tail(self) -> Fraction:
        """From its last stroke to its end."""
        return self.length - self.last


@dataclass(frozen=True, slots=True)
class Question:
    """What is known of a cadence; a ``gap``, ``round_gap`` or ``begins`` of None is what is asked.

    ``within``: at most so many cycles. ``early``: the last stroke falls so much before sam.
    """

    statement: Statement
    times: int = 3
    gap: Fraction | None = None
    begins: Fraction | None = None
    body: Fraction = Fraction(0)
    rounds: int = 1
    round_gap: Fraction | None = None
    within: int = 4
    early: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Answer:
    """A cadence that lands.

    ``ends`` counts each last stroke, the first beat of the cycle it begins in being 1;
    ``silence`` is the rest between statements when a last stroke is counted as one beat.
    """

    begins: Fraction
    gap: Fraction
    round_gap: Fraction | None
    phrase: Fraction
    cycles: int
    ends: tuple[Fraction, ...]
    kind: Kind
    lands: Literal["sam", "anagat"]
    silence: Fraction


@dataclass(frozen=True)
class Answers:
    """All answers, plainest first; ``stopped`` where the search was cut short."""

    found: tuple[Answer, ...]
    stopped: bool = False


def lands(question: Question, cycle: Cycle, answer: Answer) -> bool:
    """Whether an answer lands, by the sum alone."""
    last = answer.ends[-1] - 1 + question.early
    return last % cycle.beats == 0


def solve(question: Question, cycle: Cycle) -> Answers:
    """Every answer in the window, in order of plainness.

    Whole-beat gaps before half-beat before third- and quarter-beat ones; small gaps; beginning on
    sam, then on a stressed beat, then on another; few cycles.
    """
    found: list[Answer] = []
    sums = _Sums(question, cycle)
    stopped = False
    for steps, (begins, gap, round_gap) in enumerate(sums.candidates()):
        if steps >= MAX_STEPS:
            stopped = True
            break
        answer = sums.answer(begins, gap, round_gap)
        if answer is not None:
            found.append(answer)
    return Answers(_in_order(found, cycle), stopped)


class _Sums:
    """The sums of one question in whole units: a unit divides every length that is given, and
    every gap that can be an answer."""

    def __init__(self, question: Question, cycle: Cycle) -> None:
        statement = question.statement
        given = (question.gap, question.round_gap, question.begins)
        exact = [value for value in given if value is not None]
        exact += [*statement.onsets, statement.length, question.body, question.early]
        exact += [cycle.beats, *cycle.sections]
        self.unit = math.lcm(12, *(value.denominator for value in exact))
        self.question, self.cycle = question, cycle
        self.beats = self.units(cycle.beats)
        self.length = self.units(statement.length)
        self.last = self.units(statement.last)
        self.body = self.units(question.body)
        self.early = self.units(question.early)
        self.tail = statement.tail + statement.onsets[0] - 1
        self.plain = {self.unit // part for part in range(1, FINEST_GAP + 1)} | {
            self.unit // statement.length.denominator
        }
        self.given = {self.units(value) for value in given[:2] if value is not None}
        self.shown: dict[int, Fraction] = {}

    def units(self, value: Fraction) -> int:
        return value.numerator * (self.unit // value.denominator)

    def beat(self, units: int) -> Fraction:
        """Units as beats; the same few are asked for over and over."""
        if units not in self.shown:
            self.shown[units] = Fraction(units, self.unit)
        return self.shown[units]

    def ends(self, start: int, gap: int, round_gap: int) -> list[int]:
        """Where each last stroke falls, from the first beat of the cycle it begins in."""
        times = self.question.times
        step = self.length + gap
        whole = self.body + times * self.length + (times - 1) * gap + round_gap
        first = start + self.body + self.last
        return [
            first + turn * whole + statement * step
            for turn in range(self.question.rounds)
            for statement in range(times)
        ]

    def candidates(self) -> Iterator[tuple[int, int, int]]:
        """(start, gap, gap between rounds): what is asked is worked out from the landing."""
        question = self.question
        gap = 0 if question.times == 1 else _maybe(question.gap, self.units)
        round_gap = 0 if question.rounds == 1 else _maybe(question.round_gap, self.units)
        start = _maybe(question.begins, self.units)
        if gap is not None and round_gap is not None:
            if start is None:
                start = -(self.ends(0, gap, round_gap)[-1] + self.early) % self.beats + self.unit
            yield start - self.unit, gap, round_gap
            return
        starts = [start - self.unit] if start is not None else self.starts()
        reach = self.ends(0, 0, 0)[-1] + self.early
        for landing in range(1, question.within + 1):
            for begun in starts:
                left = landing * self.beats - reach - begun
                if left >= 0:
                    yield from self.gaps(begun, left, gap, round_gap)

    def gaps(
        self, start: int, left: int, gap: int | None, round_gap: int | None
    ) -> Iterator[tuple[int, int, int]]:
        """The gaps that take up what is left before a landing."""
        per_gap = self.question.rounds * (self.question.times - 1)
        per_round = self.question.rounds - 1
        if gap is None and round_gap is not None:
            room, over = divmod(left - per_round * round_gap, per_gap)
            if not over:
                yield start, room, round_gap
            return
        tried = [gap] if gap is not None else self.grid(left // per_gap)
        for one in tried:
            room, over = divmod(left - per_gap * one, per_round)
            if not over:
                yield start, one, room

    def grid(self, limit: int) -> Iterator[int]:
        """Gaps that can be counted, up to a limit."""
        return (gap for gap in range(0, limit + 1, self.unit // 12) if self.counted(gap))

    def starts(self) -> list[int]:
        """Where a cadence may begin: every whole beat and every section's start."""
        whole = range(0, self.beats, self.unit)
        return sorted({*whole, *(self.units(start) for start in self.cycle.starts)})

    def counted(self, gap: int) -> bool:
        """Whether a gap can be counted: down to quarters, or in the statement's own divisions."""
        return gap in self.given or any(gap % part == 0 for part in self.plain)

    def answer(self, start: int, gap: int, round_gap: int) -> Answer | None:
        if min(gap, round_gap) < 0 or not (self.counted(gap) and self.counted(round_gap)):
            return None
        ends = self.ends(start, gap, round_gap)
        cycles, off = divmod(ends[-1] + self.early, self.beats)
        if off or not 1 <= cycles <= self.question.within:
            return None
        silence = self.tail + self.beat(gap)
        return Answer(
            self.beat(start + self.unit),
            self.beat(gap),
            self.beat(round_gap) if self.question.rounds > 1 else None,
            self.question.statement.length,
            cycles,
            tuple([self.beat(end + self.unit) for end in ends]),
            self.kind(ends, silence),
            "anagat" if self.early else "sam",
            silence,
        )

    def kind(self, ends: list[int], silence: Fraction) -> Kind:
        """What the trade calls it."""
        times, rounds = self.question.times, self.question.rounds
        if rounds == 1:
            if times == 1:
                return "single"
            return "bedam" if silence <= BREATHLESS else "damdar"
        if not self.early and times == rounds:
            corners = [ends[number * times + number] for number in range(rounds)]
            strokes = [self.units(onset) for onset in self.question.statement.onsets]
            if len(strokes) == rounds and all(
                (corner - self.last + stroke) % self.beats == 0
                for corner, stroke in zip(corners, strokes, strict=True)
            ):
                return "kamali"
            if times == 3 and all(corner % self.beats == 0 for corner in corners):
                return "farmaishi"
        return "nauhakka" if not self.body and times == rounds == 3 else "chakradar"


def _maybe(value: Fraction | None, change: Callable[[Fraction], int]) -> int | None:
    return None if value is None else change(value)


def _in_order(answers: Iterable[Answer], cycle: Cycle) -> tuple[Answer, ...]:
    def plainness(answer: Answer) -> tuple[Fraction | int, ...]:
        gap, round_gap = answer.gap, answer.round_gap
        fineness = min(gap.denominator, 3)
        room = gap
        if round_gap:
            fineness = max(fineness, min(round_gap.denominator, 3))
            room = gap + round_gap
        start = 0 if answer.begins == 1 else 1 if answer.begins in cycle.stressed else 2
        return (fineness, room, start, answer.cycles, answer.begins, gap)

    return tuple(sorted(answers, key=plainness))


def fill_room(room: Fraction, cycle: Cycle, times: int = 3) -> tuple[Answer, ...]:
    """Every (phrase, gap) whose last stroke falls on sam when ``room`` beats are left before it.

    Phrases in whole beats, gaps down to quarters; plain and small gaps first.
    """
    found: list[Answer] = []
    begins = -room % cycle.beats + 1
    landing = begins + room
    beats = Fraction(1)
    while times * beats - 1 <= room:
        question = Question(
            Statement.of_beats(beats), times, None, begins, within=int(landing / cycle.beats)
        )
        found += [answer for answer in solve(question, cycle).found if answer.ends[-1] == landing]
        beats += 1
    return tuple(sorted(found, key=lambda a: (min(a.gap.denominator, 3), a.gap, -a.phrase)))


def why_none(question: Question, cycle: Cycle) -> str:
    """Why a question has no answer, where that can be said in a sentence; else ""."""
    whole = (cycle.beats, question.begins, question.gap, question.body, question.early)
    if question.rounds > 1 or None in whole or any(n is None or n.denominator > 1 for n in whole):
        return ""
    common = math.gcd(question.times, int(cycle.beats))
    if common == 1:
        return ""
    return (
        f"{question.times} statements and a cycle of {cycle.beats} beats are both divided by "
        f"{common}, so that no phrase of whole beats lands from that beat with that gap"
    )


def nearest_length(question: Question, cycle: Cycle, reach: int = 8) -> Fraction | None:
    """The length nearest to the statement's for which there is an answer, down to quarters."""
    statement = question.statement
    steps = {Fraction(part, size) for size in (1, 2, 3, 4) for part in range(1, size * reach + 1)}
    for step in sorted(steps):
        for change in (step, -step):
            length = statement.length + change
            last = statement.last + change
            if length <= 0 or last < 0:
                continue
            before = tuple(onset for onset in statement.onsets[:-1] if onset < last)
            other = replace(question, statement=Statement(length, (*before, last)))
            if solve(other, cycle).found:
                return length
    return None
