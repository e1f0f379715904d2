"""The shakes of a held tone, andolan and gamak, as curves of its pitch.

A shake sets in: an andolan grows over its first swings, a gamak's first swing is narrower. It then
wavers a little in speed and depth, for no hand or breath is even. Its mean pitch is exactly that of
an even shake: an andolan's the tone, a gamak's half way to the tone it reaches for. Speeds and
depths are common practice; the figures are our choice.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from cyclechart.arrange.pitch_curves import Curve, with_mean


@dataclass(frozen=True, slots=True)
class Shake:
    """The slowest, usual and fastest swings a second of a shake."""

    slowest: float
    usual: int
    fastest: float


ANDOLAN = Shake(2.5, 3, 4)
GAMAK = Shake(5, 6, 7)

BEGINS, GROWN = 0.25, 1.25
"""The share of its depth with which an andolan begins, and the swing at which it has all of it."""
FIRST_SWING, OTHER_SWINGS = 0.7, (1.0, 0.94, 1.0, 0.97)
"""The depths of a gamak's swings: the first, and the others in turn."""
DEPTH_WAVER, DEPTH_SWINGS = 0.12, 4
"""The share by which an andolan's depth wavers, and the swings from one full depth to the next."""
RATE_WAVER, RATE_SWINGS = 0.1, 4
"""The share by which the speed wavers, slower first, and the swings in which it does once."""
POINTS = 12
"""Points of the curve in a swing."""
UNIT = 3840
"""The times of points are multiples of this part of a beat."""

Depths = Callable[[Sequence[float], int], list[float]]


def andolan_curve(length: Fraction, seconds: Fraction, depth: float) -> Curve:
    """Return the curve of an andolan over a tone of a length in beats that lasts so many seconds;
    ``depth`` in semitones either way. () for a tone that is too short."""
    return _curve(ANDOLAN, length, seconds, lambda times, count: _andolan(times, count, depth))


def gamak_curve(length: Fraction, seconds: Fraction, depth: float) -> Curve:
    """Return the curve of a gamak: up from the tone by ``depth`` semitones and back."""
    return _curve(GAMAK, length, seconds, lambda times, count: _gamak(times, count, depth))


def _andolan(times: Sequence[float], count: int, depth: float) -> list[float]:
    values = []
    for at in range(count * POINTS + 1):
        turn = at / POINTS
        grown = min(1.0, BEGINS + (1 - BEGINS) * turn / GROWN)
        waver = 1 - DEPTH_WAVER * (1 - math.cos(2 * math.pi * turn / DEPTH_SWINGS)) / 2
        values.append(depth * grown * waver * math.sin(2 * math.pi * (at % POINTS) / POINTS))
    first, lasts = times[0], times[-1] - times[0]
    weights = [math.sin(math.pi * (time - first) / lasts) for time in times]
    weights[-1] = 0.0
    return with_mean(times, values, weights, 0.0)


def _gamak(times: Sequence[float], count: int, depth: float) -> list[float]:
    highs = [OTHER_SWINGS[number % len(OTHER_SWINGS)] for number in range(count)]
    if count > 1:
        highs[0] = FIRST_SWING
    values, lows = [], []
    for at in range(count * POINTS + 1):
        swing, within = divmod(at, POINTS)
        up = (1 - math.cos(2 * math.pi * within / POINTS)) / 2
        values.append(depth * up * highs[swing] if within else 0.0)
        # Between two swings it does not come all the way down, so that the mean stays.
        nearest = round(at / POINTS)
        lows.append(
            1 - up if 0 < nearest < count and abs(at - nearest * POINTS) * 2 < POINTS else 0.0
        )
    return with_mean(times, values, lows, depth / 2)


def _curve(shake: Shake, length: Fraction, seconds: Fraction, shape: Depths) -> Curve:
    """Return the curve of whole swings that end with the tone, held first where they are shorter.

    ``shape`` gives semitones at the times (seconds) of the points of a number of swings.
    """
    count = round(seconds * shake.usual)
    if not count or count > seconds * shake.fastest:
        count = int(seconds * shake.usual)
    if not count:
        return ()
    lasts = seconds
    if not shake.slowest <= count / seconds <= shake.fastest:
        lasts = min(seconds, Fraction(count, shake.usual))
    delay = seconds - lasts
    a_second = length / seconds
    beats = [_on_grid((delay + lasts * share) * a_second) for share in _shares(count)]
    beats[-1] = length
    values = shape([float(time / a_second) for time in beats], count)
    values[0] = values[-1] = 0.0
    held = [(Fraction(0), 0.0)] if beats[0] > 0 else []
    return (*held, *zip(beats, values, strict=True))


def _shares(count: int) -> list[Fraction]:
    """Return the shares of its time at which a shake is at each point of its swings: a speed that
    wavers comes to a point a little sooner or later than an even one."""
    turns = max(1, round(count / RATE_SWINGS))
    reach = RATE_WAVER / (2 * math.pi * turns) if count > 1 else 0.0
    shares = []
    for at in range(count * POINTS + 1):
        even = at / (count * POINTS)
        late = reach * math.sin(2 * math.pi * turns * even)
        shares.append(Fraction(round((even + late) * 1_000_000), 1_000_000))
    shares[-1] = Fraction(1)
    return shares


def _on_grid(beats: Fraction) -> Fraction:
    return Fraction(round(beats * UNIT), UNIT)
