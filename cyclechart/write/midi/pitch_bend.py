"""Pitch in MIDI: bends and their range (RPN 0), gradual bends, the MIDI Tuning Standard."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from cyclechart.theory.tuning import Tuning

USUAL_RANGE, WIDEST_RANGE = 2, 24
"""Semitones either way: the default of MIDI 1.0, and the widest that synthesizers commonly have."""

CENTRE = 8192
"""A bend is 14 bits, −8192 to 8191 about this centre."""

FINEST_CENTS = 5
NARROW, NARROW_CENTS = 0.25, 8
"""Semitones either way within which a curve is a vibrato or a small shake, and the smallest steps of
its bends in cents: it has many."""
FINEST_SECONDS = 0.01
"""The smallest steps of a gradual bend (whichever is reached later)."""

TUNING_CENTS = 100
"""Cents: the reach of the scale/octave tuning either way."""


def bend_steps(semitones: float, semitone_range: int) -> int:
    """Return the 14-bit bend for so many semitones, at a range of ``semitone_range``."""
    return min(max(round(CENTRE * semitones / semitone_range), -CENTRE), CENTRE - 1)


def bend_range(lowest: float, highest: float) -> int:
    """Return the smallest range that reaches these bends, all in semitones."""
    # Upwards the last step is missing: +2 semitones do not quite fit into a range of 2.
    needed = max(-lowest, highest * CENTRE / (CENTRE - 1))
    return min(max(USUAL_RANGE, math.ceil(needed - 1e-9)), WIDEST_RANGE)


def gradual_bends(
    points: Sequence[tuple[int, float]], seconds_a_tick: float, finest: float = FINEST_CENTS
) -> Iterator[tuple[int, float]]:
    """Yield steps (tick, semitones) along straight lines through points of the same form.

    They include every point but the first; between two points the steps are of ``finest`` cents, but
    at least 10 milliseconds apart.
    """
    for (start, low), (end, high) in pairwise(points):
        by_size = math.ceil(abs(high - low) * 100 / finest - 1e-9)
        by_time = int((end - start) * seconds_a_tick / FINEST_SECONDS)
        count = max(1, min(by_size, by_time))
        for number in range(1, count):
            tick = start + (end - start) * number // count
            yield tick, low + (high - low) * (tick - start) / (end - start)
        yield end, high


def octave_offsets(base: int, tuning: Tuning) -> list[int]:
    """Return the offsets of the keys C to B from equal temperament, 0 to 16383 for ±100 cents.

    ``base`` is the key of Sa. MIDI Tuning Standard, scale/octave form of two bytes (CA-021): 8192
    (40 00) is no offset, a step is 0.0122 cents.
    """
    cents = [tuning.bend(key - base) for key in range(12)]
    return [min(max(CENTRE + round(c * CENTRE / TUNING_CENTS), 0), 2 * CENTRE - 1) for c in cents]


def offset_cents(offset: int) -> float:
    """Return an offset of the scale/octave form in cents."""
    return (offset - CENTRE) * TUNING_CENTS / CENTRE


def octave_tuning(channels: Iterable[int], offsets: Sequence[int]) -> tuple[int, ...]:
    """Return the real-time scale/octave message that tunes these channels (from 0).

    Its bytes between F0 and F7: 7F, any device, 08 09, three bytes of channels (16–15, 14–8, 7–1),
    twelve offsets from C up.
    """
    mask = sum(1 << channel for channel in set(channels))
    head = (0x7F, 0x7F, 0x08, 0x09, mask >> 14, mask >> 7 & 0x7F, mask & 0x7F)
    return (*head, *(byte for offset in offsets for byte in (offset >> 7, offset & 0x7F)))
