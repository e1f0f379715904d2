"""The place of a part in a range: out of reach, a strain, and where it would lie better."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

OCTAVES = (0, -1, 1, -2, 2, -3, 3)
"""Moves by whole octaves, the nearest first."""


class Range(NamedTuple):
    """Keys (MIDI, as they sound): what is possible, and within it what is comfortable."""

    lowest: int
    low: int
    high: int
    highest: int


class Lie(NamedTuple):
    """The place of a part: the shares of its time out of reach and of comfort, and its ends."""

    beyond: Fraction
    strained: Fraction
    bottom: int
    top: int


def lie(keys: Iterable[tuple[int, Fraction]], within: Range) -> Lie | None:
    """Return the place in a range of keys that sound so long (beats); None of silence."""
    total = beyond = strained = Fraction(0)
    bottom, top = 999, -999
    for key, length in keys:
        total += length
        bottom, top = min(bottom, key), max(top, key)
        if not within.lowest <= key <= within.highest:
            beyond += length
        elif not within.low <= key <= within.high:
            strained += length
    if not total:
        return None
    return Lie(beyond / total, strained / total, bottom, top)


def better_octave(
    bottom: int, top: int, within: Range, octaves: Iterable[int] = OCTAVES
) -> int | None:
    """By how many octaves a part has to move to be comfortable from end to end, or else to be
    possible: the nearest of those given; None where none does. 0 where it is comfortable as it is.
    """
    nearest = sorted(octaves, key=lambda by: (abs(by), by))
    for low, high in ((within.low, within.high), (within.lowest, within.highest)):
        for octave in nearest:
            if low <= bottom + 12 * octave and top + 12 * octave <= high:
                return octave
    return None


def better_shifts(bottom: int, top: int, within: Range, shifts: Iterable[int]) -> list[int]:
    """The moves (semitones) with which a part is comfortable from end to end, the nearest first."""
    return sorted(
        (by for by in shifts if within.low <= bottom + by and top + by <= within.high),
        key=lambda by: (abs(by), by),
    )
