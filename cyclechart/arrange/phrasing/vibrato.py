"""Late vibrato: a long note is straight at first, then wavers about its pitch.

It is for instruments whose ``vibrato`` the catalogue says: those that are at home in a jazz band.
A voice or a bow of the raga's own keeps the held tones of a mode still, but for its andolan. Speed
and depth are common practice (from memory: 5 to 6 swings a second, within a fifth of a semitone);
the mean pitch of the note is exactly its own.
"""

from __future__ import annotations

import math
from fractions import Fraction
from zlib import crc32

from cyclechart.arrange.pitch_curves import Curve, with_mean

SETS_IN = 0.35
"""Seconds after which it sets in."""
SHORTEST = 0.8
"""Seconds of the shortest note that has it."""
GROWS = 0.6
"""Seconds in which it grows to its depth."""
LETS_GO = 0.12
"""Seconds at the end of the note in which it comes to rest."""
SLOWEST, FASTEST = 5.0, 5.8
"""Swings a second: each note has a rate of its own between these."""
SHALLOWEST, DEEPEST = 0.10, 0.16
"""Semitones above and below the pitch."""
WAVER = 0.12
"""The share by which rate and depth waver, once in ``WAVER_SECONDS``."""
WAVER_SECONDS = 0.9
POINTS = 6
"""Points of the curve in a swing, the highest and the lowest among them."""
FIRST_POINT = 1 / 12
"""The share of a swing before the first of them."""
UNIT = 960
"""The times of the points are multiples of this part of a beat."""


def vibrato_curve(length: Fraction, seconds: float, seed: str) -> Curve:
    """Return the curve of a note of a length in beats, which lasts so many seconds.

    () for a note that is too short. ``seed``: notes of one seed have the same vibrato.
    """
    if seconds < SHORTEST:
        return ()
    dice = crc32(seed.encode())
    rate = SLOWEST + (FASTEST - SLOWEST) * (dice & 0xFF) / 255
    depth = SHALLOWEST + (DEEPEST - SHALLOWEST) * (dice >> 8 & 0xFF) / 255
    phase = 2 * math.pi * (dice >> 16 & 0xFF) / 255
    a_second = float(length) / seconds
    count = int((seconds - SETS_IN) * rate * POINTS)
    times = [Fraction(0)]
    for number in range(count + 1):
        beats = (SETS_IN + (number / POINTS + FIRST_POINT) / rate) * a_second
        time = Fraction(round(beats * UNIT), UNIT)
        if times[-1] < time < length:
            times.append(time)
    times.append(length)
    at = [float(time) / a_second for time in times]
    weights = [_envelope(second, seconds) for second in at]
    values = []
    for second, weight in zip(at, weights, strict=True):
        turn = 2 * math.pi * second / WAVER_SECONDS + phase
        swings = rate * (second - SETS_IN)
        # The rate wavers as the slope of this: rate * (1 + WAVER * cos).
        swings += WAVER * rate * WAVER_SECONDS / (2 * math.pi) * (math.sin(turn) - math.sin(phase))
        own = depth * (1 - WAVER + WAVER * math.sin(turn / 2))
        values.append(own * weight * math.sin(2 * math.pi * swings))
    values = with_mean(at, values, weights, 0.0)
    return tuple(zip(times, values, strict=True))


def _envelope(second: float, seconds: float) -> float:
    """Return the share of its depth that a vibrato has at a second of a note."""
    grown = (second - SETS_IN) / GROWS
    left = (seconds - second) / LETS_GO
    return max(0.0, min(1.0, grown, left))
