"""The sums of one question, in whole units: what can land, and what the trade calls it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from fractions import Fraction
from heapq import merge
from itertools import pairwise

from cyclechart.theory.cadence.terms import Answer, CadenceKind, Question
from cyclechart.theory.cycle import Cycle

BREATHLESS = Fraction(1, 2)
"""A silence of up to half a beat between statements still counts as none (bedam)."""

PALLIS: dict[int, CadenceKind] = {2: "dupalli", 3: "tripalli", 4: "chaupalli"}
"""A phrase in so many rising speeds."""

FINEST_GAP = 4
"""Gaps are in whole beats, halves, thirds or quarters, and in the cycle's own pulses."""

FINEST_OWN = 64
"""A phrase in parts of a beat as fine as this or coarser may have gaps in such parts."""

Found = tuple[int, int, int]
"""Where it starts (from the cycle's first beat), the gap, the gap between rounds; in units."""


class Sums:
    """The sums of one question in whole units: a unit divides every length that is given, and
    every gap that can be an answer.

    Places count from where the cadence comes home to (sam, or its eduppu), at or before its
    beginning. The second gap of an answer, ``round_gap``, is that between rounds, or without rounds
    the one after each phrase of a korvai's first part; ``per_gap`` and ``per_round`` are how often
    each of the two is waited.
    """

    def __init__(self, question: Question, cycle: Cycle) -> None:
        statement, step = question.statement, question.step
        first = question.first
        first_gap = first.gap if first is not None else None
        given = (question.gap, question.round_gap, question.begins, first_gap)
        exact = [value for value in given if value is not None]
        exact += [*statement.onsets, statement.length, question.body, question.early, step]
        exact += [question.lead, question.eduppu, *question.lengths]
        exact += [statement.tail / rate for rate in question.speeds]
        exact += first.lengths if first is not None else ()
        exact += [cycle.beats, *cycle.sections, *cycle.stressed]
        gati = cycle.gati or 1
        self.unit = math.lcm(12, gati, *(value.denominator for value in exact))
        self.question, self.cycle = question, cycle
        self.beats = self.units(cycle.beats)
        self.early = self.units(question.early)
        self.gap = 0 if question.times == 1 else _maybe(question.gap, self.units)
        self.round_gap = 0 if question.rounds == 1 else _maybe(question.round_gap, self.units)
        self.eduppu = self.units(question.eduppu)
        self.begins = _maybe(question.begins, self.units)
        if self.begins is not None and self.eduppu:
            self.begins = (self.begins - self.unit - self.eduppu) % self.beats + self.unit
        self.per_gap = question.rounds * (question.times - 1)
        self.per_round = question.rounds - 1
        if first is not None and question.rounds == 1:
            self.round_gap, self.per_round = _maybe(first_gap, self.units), len(first.lengths)
        self.lead = self.units(question.lead)
        self.pulse = self.unit // gati
        # A gap can be counted down to quarters, in the cycle's pulses, and in the divisions that
        # the statement itself is said in.
        lasts = [
            length - statement.tail / rate
            for length, rate in zip(question.lengths, question.rates, strict=True)
        ]
        lengths = (statement.length, statement.last, step, *question.lengths, *lasts)
        own = math.lcm(*(value.denominator for value in lengths))
        parts = {*range(1, FINEST_GAP + 1), gati, own if own <= FINEST_OWN else 1}
        sizes = {self.unit // part for part in parts}
        self.steps = [
            size for size in sorted(sizes) if not any(size % s == 0 for s in sizes - {size})
        ]
        self.stressed = {self.units(beat) - self.unit for beat in cycle.stressed}
        self.shown: dict[int, Fraction] = {}
        self._lay_out()

    def _lay_out(self) -> None:
        """A round without its gaps: where each last stroke falls in it, and how long it is."""
        question, first = self.question, self.question.first
        lengths = [self.units(length) for length in question.lengths]
        tails = [question.statement.tail / rate for rate in question.rates]
        spoken = self.units(question.body)
        if first is not None:
            spoken += sum(self.units(length) for length in first.lengths)
            if question.rounds > 1:
                spoken += len(first.lengths) * self.units(first.gap or Fraction(0))
        self.spots: list[int] = []
        for length, tail in zip(lengths, tails, strict=True):
            spoken += length
            self.spots.append(spoken - self.units(tail))
        self.spoken = spoken
        self.phrases = () if question.alike or question.times == 1 else question.lengths
        self.rest = tails[0] + self._lead()
        """From a last stroke to the next first one, but for the gap."""
        self.sounds = min(tails[0], Fraction(1))
        """How long a last stroke counts: a beat, unless its statement ends before."""
        self.strokes = self._strokes()

    def _lead(self) -> Fraction:
        """From the beginning of the second statement to its first stroke."""
        question = self.question
        rate = question.rates[min(1, question.times - 1)]
        if question.second_lead is not None:
            return question.second_lead / rate
        onsets, written = question.statement.onsets, question.statement.written
        change = question.changes[1] if question.times > 1 else question.step
        if change >= 0 or not written:
            return onsets[0] / rate
        after = (onset + change for onset in onsets if onset + change >= 0)
        return next(after, Fraction(0)) / rate

    def _strokes(self) -> list[int]:
        """The places of the k strokes of a kamali's statement before its last one; [] for none.

        A phrase by its beats is taken to close with k strokes, a beat each, as the handbooks'
        kamalis do.
        """
        statement, rounds = self.question.statement, self.question.rounds
        question = self.question
        if question.step or question.speeds or question.early or question.times != rounds:
            return []
        if statement.written:
            onsets = statement.onsets if len(statement.onsets) == rounds else ()
            return [self.units(onset - statement.last) for onset in onsets]
        if statement.length < rounds:
            return []
        return [-self.unit * left for left in range(rounds - 1, -1, -1)]

    def units(self, value: Fraction) -> int:
        """Beats as units."""
        return value.numerator * (self.unit // value.denominator)

    def beat(self, units: int) -> Fraction:
        """Units as beats; the same few are asked for over and over."""
        shown = self.shown.get(units)
        if shown is None:
            shown = self.shown[units] = Fraction(units, self.unit)
        return shown

    def count(self, place: int, start: int) -> Fraction:
        """Return a place as a count: the first beat of the cycle that it begins in is 1."""
        place += self.eduppu
        if start + self.eduppu >= self.beats:
            place -= self.beats
        return self.beat(place + self.unit)

    def last(self, start: int, gap: int, round_gap: int) -> int:
        """Return the place of the last stroke."""
        fixed = self.lead + (self.question.rounds - 1) * self.spoken + self.spots[-1]
        return start + fixed + self.per_gap * gap + self.per_round * round_gap

    def ends(self, start: int, gap: int, round_gap: int) -> list[int]:
        """Return the place of each last stroke."""
        turn = self.spoken + (self.question.times - 1) * gap + round_gap
        start += self.lead
        if self.question.rounds == 1:
            start += self.per_round * round_gap
        first = [start + spot + number * gap for number, spot in enumerate(self.spots)]
        return [spot + number * turn for number in range(self.question.rounds) for spot in first]

    def candidates(self, landings: Iterable[int]) -> Iterator[Found]:
        """Yield candidates, worked out backwards from each landing, which is so many cycles on."""
        if not self.question.sound:
            return
        if self.gap is not None and self.round_gap is not None:
            begins = self.begins
            if begins is None:
                last = self.last(0, self.gap, self.round_gap) + self.early
                begins = -last % self.beats + self.unit
            yield begins - self.unit, self.gap, self.round_gap
            return
        starts = self.starts() if self.begins is None else [self.begins - self.unit]
        reach = self.last(0, 0, 0) + self.early
        for landing in landings:
            if landing * self.beats < reach:  # not even from the first beat
                continue
            for start in starts:
                left = landing * self.beats - reach - start
                if left >= 0:
                    yield from self.gaps(start, left)

    def gaps(self, start: int, left: int) -> Iterator[Found]:
        """The gaps that take up what is left before a landing."""
        per_gap, per_round = self.per_gap, self.per_round
        if self.round_gap is not None:
            room, over = divmod(left - per_round * self.round_gap, per_gap)
            if not over:
                yield start, room, self.round_gap
            return
        for gap in self.grid(left // per_gap) if self.gap is None else [self.gap]:
            room, over = divmod(left - per_gap * gap, per_round)
            yield start, gap, -1 if over else room  # looked at, so that the search can be bounded

    def grid(self, limit: int) -> Iterator[int]:
        """Gaps that can be counted, up to a limit, small ones first."""
        before = -1
        for gap in merge(*(range(0, limit + 1, step) for step in self.steps)):
            if gap != before:
                yield gap
                before = gap

    def starts(self) -> list[int]:
        """Return where a cadence may begin: every whole beat, every section's start, its eduppu."""
        whole = range(0, self.beats, self.unit)
        starts = {self.eduppu, *whole, *(self.units(start) for start in self.cycle.starts)}
        return sorted((start - self.eduppu) % self.beats for start in starts)

    def fits(self, gap: int, given: int | None) -> bool:
        """Return whether a gap is the one given, or can be counted."""
        if gap == given:
            return True
        return gap >= 0 and any(gap % step == 0 for step in self.steps)

    def fineness(self, gap: int) -> int:
        """Whole beats, then half beats, then the cycle's pulses, then thirds, quarters, others."""
        if not gap % self.unit:
            return 0
        if not 2 * gap % self.unit:
            return 1
        return 3 if gap % self.pulse else 2

    def plainness(self, found: Found, cycles: int) -> tuple[int, ...]:
        """Return the key that answers are sorted by: the smaller, the plainer."""
        start, gap, round_gap = found
        fineness = max(self.fineness(gap), self.fineness(round_gap))
        start = (start + self.eduppu) % self.beats
        stressed = start in self.stressed or start == self.eduppu
        stress = 0 if not start else 1 if stressed else 2
        return (fineness, gap + round_gap, stress, cycles, start, gap)

    def cycles(self, found: Found) -> int | None:
        """The cycles after which it lands; None where it does not, or its gaps are none."""
        _, gap, round_gap = found
        if not (self.fits(gap, self.gap) and self.fits(round_gap, self.round_gap)):
            return None
        cycles, off = divmod(self.last(*found) + self.early, self.beats)
        return None if off or not 1 <= cycles <= self.question.within else cycles

    def answer(self, found: Found, cycles: int) -> Answer:
        """The answer that lands after so many cycles."""
        start, gap, round_gap = found
        ends = self.ends(*found)
        apart = self.rest + self.beat(gap)
        silence = apart - self.sounds
        return Answer(
            begins=self.count(start, start),
            gap=self.beat(gap),
            round_gap=self.beat(round_gap) if self.question.rounds > 1 else None,
            phrase=self.question.lengths[0],
            cycles=cycles,
            ends=tuple([self.count(end, start) for end in ends]),
            kind=self.kind(ends, silence),
            lands="sam" if not self.early else "anagat" if self.early > 0 else "atit",
            silence=silence,
            apart=apart,
            phrases=self.phrases,
            rounds=self.question.rounds,
            first_gap=self.first_gap(round_gap),
            eduppu=self.question.eduppu,
        )

    def first_gap(self, round_gap: int) -> Fraction | None:
        """Return the gap after each phrase of a korvai's first part."""
        first = self.question.first
        if first is None:
            return None
        return self.beat(round_gap) if self.question.rounds == 1 else first.gap

    def kind(self, ends: list[int], silence: Fraction) -> CadenceKind:
        """Return the trade's word for its kind."""
        question = self.question
        times, rounds, step = question.times, question.rounds, question.step
        if question.first is not None:
            return "korvai"
        if rounds == 1:
            if times == 1:
                return "single"
            if not question.alike:
                return self.shape()
            return "bedam" if silence <= BREATHLESS else "damdar"
        if times == rounds and not self.early:
            corners = ends[:: times + 1]  # statement q of round q
            if self.strokes and self._all_on_sam(map(sum, zip(corners, self.strokes, strict=True))):
                return "kamali"
            if times == 3 and self._all_on_sam(corners):
                return "farmaishi"
        plain = question.alike and not question.body and not step
        return "nauhakka" if plain and times == rounds == 3 else "chakradar"

    def shape(self) -> CadenceKind:
        """Return the trade's word for statements that differ: by their yati, or by their speeds."""
        question = self.question
        if question.speeds:
            rising = all(one < other for one, other in pairwise(question.speeds))
            if question.step or not rising:
                return "speeds"
            return PALLIS.get(question.times, "speeds")
        if question.turns and question.times > 2:
            return "mridanga" if question.step > 0 else "damaru"
        return "srotovaha" if question.step > 0 else "gopuccha"

    def _all_on_sam(self, places: Iterable[int]) -> bool:
        return not any(place % self.beats for place in places)


def _maybe(value: Fraction | None, change: Callable[[Fraction], int]) -> int | None:
    return None if value is None else change(value)
