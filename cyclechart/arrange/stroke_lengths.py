"""The written length of a stroke: drums do not ring, so that a held one is written with rests."""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction

from cyclechart.theory.cycle import Cycle


def stroke_length(length: Fraction, at: Fraction, cycle: Cycle) -> Fraction:
    """Return the written length of a stroke that is held so long, in beats.

    A stroke of more than a beat ends at the next beat line; lead sheet and parts have the same
    values. ``at``: its place in the cycle or any number of cycles, from a first beat.
    """
    if length <= 1:
        return length
    place = at % cycle.beats
    beats = cycle.walk()
    _, start, beat = beats[bisect_right(beats, place, key=lambda one: one[1]) - 1]
    return start + beat - place
