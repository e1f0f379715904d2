"""Pitch as MIDI says it: bends and their range (RPN 0), moving bends, the MIDI Tuning Standard."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from cyclechart.theory.tuning import Tuning

USUAL_RANGE, WIDEST_RANGE = 2, 24
"""Semitones either way: MIDI 1.0's default, and what synthesizers commonly go up to."""

CENTRE = 8192
"""A bend is 14 bits, −8192 to 8191 about this centre."""

FINEST_CENTS = 5
FINEST_SECONDS = 0.01
"""A moving bend takes no smaller steps than these (whichever is reached later)."""

TUNING_CENTS = 100
"""The reach of the scale/octave tuning either way."""


def bend_steps(semitones: float, wide: int) -> int:
    """The 14-bit bend for so many semitones, at a range of ``wide`` semitones."""
    return min(max(round(CENTRE * semitones / wide), -CENTRE), CENTRE - 1)


def bend_range(lowest: float, highest: float) -> int:
    """The least range that holds these bends (semitones), from the usual one to the widest."""
    # Upwards the last step is lacking: +2 semitones do not quite fit into a range of 2.
    needed = max(-lowest, highest * CENTRE / (CENTRE - 1))
    return min(max(USUAL_RANGE, math.ceil(needed - 1e-9)), WIDEST_RANGE)


def gradual_bends(
    points: Sequence[tuple[int, float]], seconds_a_tick: float
) -> Iterator[tuple[int, float]]:
    """The steps (tick, semitones) that go along straight lines through points of that form.

    The points themselves are all there, the first apart; between them steps of 5 cents, but not
    more often than each 10 milliseconds.
    """
    for (start, low), (end, high) in pairwise(points):
        by_size = math.ceil(abs(high - low) * 100 / FINEST_CENTS - 1e-9)
        by_time = int((end - start) * seconds_a_tick / FINEST_SECONDS)
        count = max(1, min(by_size, by_time))
        for number in range(1, count):
            tick = start + (end - start) * number // count
            yield tick, low + (high - low) * (tick - start) / (end - start)
        yield end, high


def octave_offsets(base: int, tuning: Tuning) -> list[int]:
    """The tuning of the keys C to B against equal ones, 0 to 16383 for −100 to +100 cents.

    ``base`` is the key of Sa. MIDI Tuning Standard, scale/octave form of two bytes (CA-021): 8192
    (40 00) is none, a step 0.0122 cents.
    """
    cents = [tuning.bend(key - base) for key in range(12)]
    return [min(max(CENTRE + round(c * CENTRE / TUNING_CENTS), 0), 2 * CENTRE - 1) for c in cents]


def offset_cents(offset: int) -> float:
    """Return the cents that an offset of the scale/octave form stands for."""
    return (offset - CENTRE) * TUNING_CENTS / CENTRE


def octave_tuning(channels: Iterable[int], offsets: Sequence[int]) -> tuple[int, ...]:
    """The real-time scale/octave message (between F0 and F7) that tunes these channels (from 0).

    7F, any device, 08 09, three bytes of channels (16–15, 14–8, 7–1), twelve offsets from C up.
    """
    mask = sum(1 << channel for channel in set(channels))
    head = (0x7F, 0x7F, 0x08, 0x09, mask >> 14, mask >> 7 & 0x7F, mask & 0x7F)
    return (*head, *(byte for offset in offsets for byte in (offset >> 7, offset & 0x7F)))
