"""A phrase in one breath, bow or stroke: tones that go on into each other without an attack.

It is one tone whose pitch moves fast, whose level dips a little and whose velocity changes where a
new note begins: a single phase runs through it, so that nothing can click or cancel.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from cyclechart.sound.rate import RATE
from cyclechart.sound.wavetable import Floats

BEFORE, AFTER = round(0.010 * RATE), round(0.020 * RATE)
"""Frames before and after a new note's beginning in which the pitch moves to it: 30 ms."""
DIP = 0.18
"""The part of the level that is missing in the middle of the move: 1.7 dB."""
DIP_FRAMES = round(0.045 * RATE)
"""Frames of the dip, which is deepest when the pitch is in the middle of its move."""


class LegatoTone(NamedTuple):
    """A tone of a phrase: its first frame in it, its hertz, its velocity, its moves of pitch as
    (frame from its own start, cents from its own hertz)."""

    start: int
    hz: float
    velocity: int
    curve: Sequence[tuple[int, float]] = ()


def phrase_curve(tones: Sequence[LegatoTone], frames: int) -> list[tuple[int, float]]:
    """Return the moves of pitch of a whole phrase, in cents from the hertz of its first tone."""
    if len(tones) == 1:
        return list(tones[0].curve)
    points: list[tuple[int, float]] = []
    ends = [*(tone.start for tone in tones[1:]), frames]
    for at, (tone, end) in enumerate(zip(tones, ends, strict=True)):
        offset = 1200 * math.log2(tone.hz / tones[0].hz)
        length = end - tone.start
        first = min(AFTER, length // 3) if at else 0
        last = length - min(BEFORE, length // 3) if at + 1 < len(tones) else None
        inside = [
            (frame, cents)
            for frame, cents in tone.curve
            if frame >= first and (last is None or frame <= last)
        ]
        if at and (not inside or inside[0][0] > first):
            inside.insert(0, (first, _cents_at(tone.curve, first)))
        if last is not None and (not inside or inside[-1][0] < last):
            inside.append((last, _cents_at(tone.curve, last)))
        points += [(tone.start + frame, offset + cents) for frame, cents in inside]
    return points


def _cents_at(curve: Sequence[tuple[int, float]], frame: int) -> float:
    """Return the cents of a curve at a frame; it begins on the pitch."""
    points = dict([(0, 0.0), *curve])
    return float(np.interp(frame, list(points), list(points.values())))


class Joins:
    """Velocity, dips and age of a phrase over its frames, none of which a single tone has."""

    def __init__(self, tones: Sequence[LegatoTone], keeps_age: float) -> None:
        """``keeps_age``: the part of its age that a decaying tone keeps where a note joins it."""
        self.starts: Floats = np.array([tone.start for tone in tones[1:]], float)
        self.velocity = float(tones[0].velocity)
        # The last has no end that matters: it is taken to be long.
        lengths = np.diff([*(tone.start for tone in tones), tones[-1].start + RATE])[1:]
        after = np.minimum(AFTER, np.maximum(1, lengths // 3))
        ages = [0.0]
        for tone, before in zip(tones[1:], tones, strict=False):
            ages.append((ages[-1] + tone.start - before.start) * keeps_age)
        self._fresh = keeps_age < 1
        self._frames: Floats = np.concatenate(
            [[0.0], np.ravel(np.c_[self.starts, self.starts + after])]
        )
        self._velocities: Floats = np.concatenate(
            [[tones[0].velocity]] + [[a.velocity, b.velocity] for a, b in pairwise(tones)]
        ).astype(float)
        old = [
            age + tone.start - before.start
            for age, tone, before in zip(ages, tones[1:], tones, strict=False)
        ]
        self._ages: Floats = np.concatenate([[0.0], np.ravel(np.c_[old, np.add(ages[1:], after)])])
        self._last = float(self._frames[-1])

    def velocities(self, frames: Floats) -> Floats:
        """Return the velocity at each frame."""
        if not len(self.starts):
            return np.full(len(frames), self.velocity)
        found: Floats = np.interp(frames, self._frames, self._velocities)
        return found

    def ages(self, frames: Floats) -> Floats:
        """Return for how many frames the tone has been decaying at each frame."""
        if not len(self.starts) or not self._fresh:
            return frames
        inside = np.interp(frames, self._frames, self._ages)
        found: Floats = inside + np.maximum(0.0, frames - self._last)
        return found

    def dips(self, frames: Floats) -> Floats:
        """Return the gain at each frame, 1 but for a short dip at each join."""
        if not len(self.starts):
            return np.ones(len(frames))
        middle = self.starts + (AFTER - BEFORE) / 2
        at = np.clip(np.searchsorted(middle, frames), 1, max(1, len(middle) - 1))
        near = np.minimum(
            np.abs(frames - middle[np.minimum(at, len(middle) - 1)]),
            np.abs(frames - middle[at - 1]),
        )
        part = np.minimum(1.0, 2 * near / DIP_FRAMES)
        found: Floats = 1 - DIP * (0.5 + 0.5 * np.cos(np.pi * part))
        return found
