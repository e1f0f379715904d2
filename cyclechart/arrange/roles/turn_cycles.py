"""The cycles of each turn of a step, counted: figures of bass and chords begin with the turn.

A turn that is played again is then played alike, and its pages fold as the form does.
"""

from __future__ import annotations

from collections.abc import Iterator

from cyclechart.arrange.timeline import Stretch, Timeline

PERIOD = 4
"""Cycles after which the figures of bass and chords repeat."""


def stretches_in_turns(timeline: Timeline) -> Iterator[tuple[Stretch, int]]:
    """Yield each stretch after the count-in, and the number of cycles of its turn before it."""
    turn, number = (-1, 0), 0
    for stretch in timeline.stretches:
        if stretch.kind == "count-in":
            continue
        if (stretch.step, stretch.turn) != turn:
            turn, number = (stretch.step, stretch.turn), 0
        yield stretch, number
        if stretch.kind != "free":
            number += int((stretch.end - stretch.start) / stretch.cycle.beats)
