"""The pitch of a note over time: glides in cents as a phase, exact to the last digit."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from cyclechart.sound.rate import RATE
from cyclechart.sound.wavetable import Floats

HOP = 16
"""Frames (0.4 ms) of the straight lines in which level and pitch change."""
_PARTS = np.arange(HOP) / HOP


def curve_points(curve: Sequence[tuple[int, float]]) -> list[tuple[int, float]]:
    """Return the curve with a start, and one point a frame."""
    points = {0: 0.0}
    before = 0
    for frame, cents in curve:
        if frame < before:
            raise ValueError(f"a curve's frames must not go back: {frame} after {before}")
        points[frame] = cents
        before = frame
    return list(points.items())


class Pitches:
    """The phase of a note, block by block, in float64 throughout."""

    def __init__(self, hz: float, points: list[tuple[int, float]]) -> None:
        self._step = hz / RATE
        self._hz = hz
        self._frames: Floats = np.array([frame for frame, _ in points], np.float64)
        self._cents: Floats = np.array([cents for _, cents in points], np.float64)
        self._slopes = _slopes(self._frames, self._cents)
        self._lengths = np.diff(self._frames)
        self._rises = np.diff(self._cents)
        self._moving = bool(np.any(self._rises))
        self._at = 0
        self._turn = 0.0

    def top(self, start: int, stop: int) -> float:
        """Return the highest pitch (Hz) between two frames: no glide goes beyond its two ends."""
        if not self._moving:
            return self._hz
        inside = (self._frames > start) & (self._frames < stop)
        ends: Floats = np.array([start, stop], np.float64)
        cents = [*self._eased(ends).tolist(), *self._cents[inside].tolist()]
        return self._hz * math.exp2(max(cents) / 1200)

    def turns(self, count: int) -> Floats:
        """Return the phases of the next frames, in turns."""
        start = self._at
        self._at += count
        if not self._moving or start > self._frames[-1]:
            step = self._step * math.exp2(self._cents[-1] / 1200)
            steady: Floats = self._turn + step * np.arange(count, dtype=np.float64)
            self._turn = (self._turn + step * count) % 1.0
            return steady
        # Half a frame on: the pitch in the middle of the step that it makes.
        hops: Floats = np.arange(start, start + count + 1, HOP, dtype=np.float64) + 0.5
        steps = ramps(self._step * np.exp2(self._eased(hops) / 1200))
        turns = np.empty(count)
        turns[0] = self._turn
        np.cumsum(steps[:-1], out=turns[1:])
        turns[1:] += self._turn
        self._turn = float(turns[-1] + steps[-1]) % 1.0
        return turns

    def _eased(self, frames: Floats) -> Floats:
        """Return the cents at frames: half a cosine from point to point, and the slopes on top."""
        piece = np.searchsorted(self._frames, frames, side="right") - 1
        piece = np.minimum(piece, len(self._lengths) - 1)
        length = self._lengths[piece]
        t = np.minimum((frames - self._frames[piece]) / length, 1.0)
        cents = self._cents[piece] + self._rises[piece] * (0.5 - 0.5 * np.cos(np.pi * t))
        # The slope terms of a cubic: none where the pitch is at rest at both ends.
        bend = self._slopes[piece] * (1 - t) - self._slopes[piece + 1] * t
        eased: Floats = cents + length * bend * t * (1 - t)
        return eased


def ramps(values: Floats) -> Floats:
    """Return straight lines from each value to the next over HOP frames."""
    steps = (values[1:] - values[:-1])[:, None] * _PARTS
    ramps: Floats = (values[:-1, None] + steps).ravel()
    return ramps


def _slopes(frames: Floats, cents: Floats) -> Floats:
    """Return the slope of the pitch at each point (cents a frame): 0 at both ends and at turns.

    Elsewhere the harmonic mean of the slopes beside it, which never overshoots (Fritsch and
    Butland, SIAM J. Sci. Stat. Comput. 5, 1984). Without it a glide given in many points would
    stop at each of them.
    """
    slopes = np.zeros(len(frames))
    if len(frames) > 2:
        sides = np.diff(cents) / np.diff(frames)
        before, after = sides[:-1], sides[1:]
        onward = before * after > 0
        mean = 2 * before * after / np.where(onward, before + after, 1.0)
        slopes[1:-1] = np.where(onward, mean, 0.0)
    return slopes
