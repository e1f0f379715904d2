"""How a part lies in a range: what is out of reach, what strains, and where it would lie better."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

OCTAVES = (0, -1, 1, -2, 2, -3, 3)
"""Moves by whole octaves, the nearest first."""


@dataclass(frozen=True)
class Range:
    """Keys (MIDI, as they sound): what is possible, and within it what is comfortable."""

    lowest: int
    low: int
    high: int
    highest: int


@dataclass(frozen=True)
class Lie:
    """How a part lies: the parts of its time beyond reach and outside comfort, and its ends."""

    beyond: Fraction
    strained: Fraction
    bottom: int
    top: int


def lie(keys: Iterable[tuple[int, Fraction]], within: Range) -> Lie | None:
    """How keys that sound so long (beats) lie in a range; None of silence."""
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


def better_octave(bottom: int, top: int, within: Range) -> int | None:
    """By how many octaves a part has to move to be comfortable from end to end, or else to be
    possible; None where no octave does. 0 where it is comfortable as it is."""
    for low, high in ((within.low, within.high), (within.lowest, within.highest)):
        for octave in OCTAVES:
            if low <= bottom + 12 * octave and top + 12 * octave <= high:
                return octave
    return None


def better_shift(bottom: int, top: int, within: Range) -> int | None:
    """By how many semitones (at most six) a part has to move to be comfortable; None where none
    does."""
    for shift in sorted(range(-6, 7), key=lambda by: (abs(by), by)):
        if within.low <= bottom + shift and top + shift <= within.high:
            return shift
    return None
