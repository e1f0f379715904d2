"""The rhythm in which chords are struck where a line of chords leaves it to its players.

A chord is struck where it begins. While it lasts, each section of the cycle has a figure of two
strikes, on its first beat and half a beat before its third; in every other cycle the second one
comes half a beat after it. A fast tempo has the first beats alone, a slow one has more strikes;
open sections have no strike on their first beat. The choice is our own.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from cyclechart.arrange.chord_slashes import ChordSpan
from cyclechart.arrange.timeline import Timeline
from cyclechart.theory.cycle import Cycle

FAST, SLOW = 200, 66
"""Beats a minute from which on the figure has first beats alone, and up to which it has more."""

HALF = Fraction(1, 2)
LEAST_AFTER, LEAST_BEFORE = 1, HALF
"""The fewest beats from a change of chord to a strike of the figure, and from that to the next."""
LONGEST = Fraction(3, 2)
"""The most beats that a strike is held, unless the tempo is slow."""
SOFTER = 8
"""Velocity taken off a strike on no change of chord, and in an open section."""


class CompedStrike(NamedTuple):
    """A strike of a chord: start and length in beats of the timeline, and the velocity added."""

    start: Fraction
    length: Fraction
    span: ChordSpan
    lift: int = 0


def comped(
    timeline: Timeline, spans: list[ChordSpan], body: Fraction, *, roots: bool = False
) -> Iterator[CompedStrike]:
    """Yield the strikes of chords that a line has from its first beat (``body``) on.

    Chords in a written rhythm are struck as they are. ``roots``: they are those of a bass, which
    has the first beats of the figure alone, and holds them.
    """
    for span in spans:
        if span.struck:
            yield CompedStrike(span.start, span.end - span.start, span)
            continue
        times = [(span.start, 0), *_figure(timeline, span, body, roots=roots)]
        ends = [start for start, _ in times[1:]] + [span.end]
        for (start, lift), end in zip(times, ends, strict=True):
            slow = timeline.at(start).tempo_at(start) <= SLOW
            longest = end - start if roots or slow else LONGEST
            yield CompedStrike(start, min(end - start, longest), span, lift)


def _figure(
    timeline: Timeline, span: ChordSpan, body: Fraction, *, roots: bool
) -> Iterator[tuple[Fraction, int]]:
    """Yield the further strikes of a chord that lasts: their times and the velocity added."""
    at = span.start
    while at < span.end:
        here = timeline.at(at)
        cycle = here.cycle
        turn = (at - body) // cycle.beats
        base = body + turn * cycle.beats
        tempo = here.tempo_at(at)
        for offset, lift in _strikes_in_cycle(cycle, tempo, int(turn), roots=roots):
            start = base + offset
            if at <= start and span.start + LEAST_AFTER <= start <= span.end - LEAST_BEFORE:
                yield start, lift
        at = base + cycle.beats


def _strikes_in_cycle(
    cycle: Cycle, tempo: Fraction, turn: int, *, roots: bool
) -> Iterator[tuple[Fraction, int]]:
    """Yield the strikes of the figure in a cycle, in order of time."""
    for start, length in zip(cycle.starts, cycle.sections, strict=True):
        stressed = start + 1 in cycle.stressed and start + 1 not in cycle.open
        if stressed:
            yield start, -SOFTER // 2
        if roots or tempo >= FAST:
            continue
        late = HALF if turn % 2 and length >= 3 else -HALF
        places = [2 + late if length >= 2 else HALF]
        if tempo <= SLOW and length >= 4:
            places.append(length - HALF)
        for place in dict.fromkeys(places):
            if place < length:
                yield start + place, -SOFTER
