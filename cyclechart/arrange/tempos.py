"""The tempos of a timeline; a gradual change goes in steps, each at the tempo of its middle."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from cyclechart.arrange.score import TempoMark
from cyclechart.arrange.timeline import Stretch, Timeline

STEP = Fraction(1, 2)
"""Beats of one step of a gradual change of tempo."""


class TempoRun(NamedTuple):
    """A run of time at one tempo, in beats of the timeline and beats a minute."""

    start: Fraction
    end: Fraction
    tempo: Fraction


def tempo_runs(stretch: Stretch) -> Iterator[TempoRun]:
    """Yield the runs of one tempo that fill a stretch; the last step of a change may be shorter."""
    at, end, tempo = stretch.start, stretch.end, stretch.tempo
    if at == end:
        return
    if stretch.to_tempo is None or stretch.to_tempo == tempo:
        yield TempoRun(at, end, tempo)
        return
    if stretch.since is not None and stretch.since > at:
        yield TempoRun(at, stretch.since, tempo)
        at = stretch.since
    by = (stretch.to_tempo - tempo) * STEP / (end - at)
    tempo += by / 2
    while at + STEP <= end:
        yield TempoRun(at, at + STEP, tempo)
        at += STEP
        tempo += by
    if at < end:
        yield TempoRun(at, end, stretch.tempo_at((at + end) / 2))


def tempos_of(timeline: Timeline) -> tuple[TempoMark, ...]:
    """Return the tempo marks of a timeline, one for each change."""
    marks: list[TempoMark] = []
    for stretch in timeline.stretches:
        for start, _, tempo in tempo_runs(stretch):
            if not marks or marks[-1].tempo != tempo:
                marks.append(TempoMark(start, tempo))
    return tuple(marks)
