"""The bars of a timeline, as counted and written: a bar is one turn of the cycle."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import groupby

from cyclechart.arrange.timeline import Stretch, Timeline


@dataclass(frozen=True)
class Bar:
    """A turn of the cycle from ``start`` to ``end`` (beats of the timeline), or a free stretch.

    ``number`` counts the metered cycles of the piece from 1, as the markers of the MIDI file do; it
    is 0 for the count-in, a lead-in and a free stretch. The last bar of a piece may be cut off.
    """

    start: Fraction
    end: Fraction
    stretch: Stretch
    number: int

    @cached_property
    def length(self) -> Fraction:
        """The length in beats."""
        return self.end - self.start

    @cached_property
    def whole(self) -> bool:
        """True for a bar that is not cut off."""
        return self.length == self.stretch.cycle.beats


@dataclass(frozen=True, slots=True)
class Passage:
    """The bars of one step of the form in the order played; ``step`` is the step's index."""

    step: int
    bars: tuple[Bar, ...]

    @property
    def free(self) -> bool:
        """True for a passage without meter."""
        return self.bars[0].stretch.kind == "free"


def bars_of(timeline: Timeline) -> tuple[Bar, ...]:
    """Return every bar of the timeline in order; together they fill it."""
    return tuple(_bars(timeline))


def _bars(timeline: Timeline) -> Iterator[Bar]:
    number = 0
    for stretch in timeline.stretches:
        if stretch.kind == "free":
            yield Bar(stretch.start, stretch.end, stretch, 0)
            continue
        start = stretch.start
        while start < stretch.end:
            end = min(start + stretch.cycle.beats, stretch.end)
            number += stretch.kind == "metered"
            yield Bar(start, end, stretch, number if stretch.kind == "metered" else 0)
            start = end


def passages_of(timeline: Timeline) -> tuple[Passage, ...]:
    """Return the bars grouped by step of the form; bars before the first step have step -1."""
    runs = groupby(bars_of(timeline), key=lambda bar: bar.stretch.step)
    return tuple(Passage(step, tuple(bars)) for step, bars in runs)
