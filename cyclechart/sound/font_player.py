"""The tones and strokes of a sound font's preset, in tune to a fraction of a cent.

The library plays a key with any tuning, so that a tone comes on its own frequency and follows its
curve. What a font's samples are off by themselves is measured and taken away, key by key.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cyclechart.sound.rate import RATE, Wave

if TYPE_CHECKING:
    from tinysoundfont import Synth

CHANNEL = 0
STEP = 64
"""Frames from one tuning to the next in a curve: those that the library computes at a time."""
LONGEST_RING = 4 * RATE
"""Frames in which a tone that has ended rings on at most."""
RING_STEP = RATE // 10
SILENT = 1e-5
FADE = RATE // 20
"""Frames of the fade where it would ring on."""
JOINED_SKIP, JOINED_FADE = RATE // 12, RATE // 100
"""Frames left out at the beginning of a tone without an attack of its own, and its fade in."""

LISTENED = RATE
"""Frames in which the pitch of a key is measured."""
ATTACK = RATE // 10
"""Frames before it."""
WITHIN = 80.0
"""Cents to either side in which a partial is looked for."""
MOST_OFF, MOST_SPREAD = 70.0, 30.0
"""Cents: a key further off, or with partials further apart, is taken as it is (a bell, a noise)."""
PARTIALS = 4
LAYER = 16
"""Velocities that are taken to have one sample."""


class FontPreset:
    """A preset of a sound font. ``bank`` 128 has the drum kits."""

    def __init__(self, path: Path, digest: str, bank: int, program: int) -> None:
        self._synth, self._font = _loaded(path, digest)
        self._preset = bank, program
        self._off: dict[tuple[int, int], float] = {}

    def tone(
        self,
        hz: float,
        frames: int,
        velocity: int,
        curve: Sequence[tuple[int, float]] = (),
        joined: bool = False,
    ) -> Wave:
        """Return a tone of so many hertz and frames; then it rings.

        ``curve``: (frame, cents from ``hz``), joined by straight lines. ``joined``: without an
        attack.
        """
        exact = 69 + 12 * math.log2(hz / 440)
        key = min(127, max(0, round(exact)))
        tuning = exact - key - self._cents_off(key, velocity) / 100
        before = JOINED_SKIP if joined else 0
        wave = self._played(key, velocity, frames + before, tuning, curve, before)[before:]
        if joined:
            ramp = min(len(wave), JOINED_FADE)
            wave[:ramp] *= np.linspace(0, 1, ramp, dtype=np.float32)
        return wave

    def hit(self, key: int, velocity: int) -> Wave:
        """Return a stroke on a key of a drum kit."""
        return self._played(key, velocity, RATE // 10, 0.0)

    def _played(
        self,
        key: int,
        velocity: int,
        frames: int,
        tuning: float,
        curve: Sequence[tuple[int, float]] = (),
        before: int = 0,
    ) -> Wave:
        """Return a key held for some frames, and its ringing; the curve begins ``before`` late."""
        synth = self._synth
        bank, program = self._preset
        synth.sounds_off(CHANNEL)
        self._frames(RING_STEP)
        synth.program_select(CHANNEL, self._font, bank, program, bank == 128)
        moves = [(before + at, tuning + cents / 100) for at, cents in curve]
        synth.set_tuning(CHANNEL, moves[0][1] if moves else tuning)
        synth.noteon(CHANNEL, key, velocity)
        parts = []
        done = 0
        for end, value in _tunings(moves, frames):
            if value is not None:
                synth.set_tuning(CHANNEL, value)
            parts.append(self._frames(end - done))
            done = end
        synth.noteoff(CHANNEL, key)
        for _ in range(0, LONGEST_RING, RING_STEP):
            parts.append(self._frames(RING_STEP))
            if np.abs(parts[-1]).max() < SILENT:
                break
        wave = np.concatenate(parts)
        wave[-FADE:] *= np.linspace(1, 0, FADE, dtype=np.float32)
        return wave

    def _frames(self, frames: int) -> Wave:
        """Return the next frames, both sides as one; a number that is none is silence."""
        sides = np.frombuffer(self._synth.generate(frames), dtype=np.float32).reshape(-1, 2)
        wave: Wave = np.nan_to_num(sides.mean(axis=1), nan=0.0, posinf=0.0, neginf=0.0)
        return wave

    def _cents_off(self, key: int, velocity: int) -> float:
        """Return by how many cents a key of the font is off the pitch that is asked for."""
        layer = velocity // LAYER
        off = self._off.get((key, layer))
        if off is None:
            wave = self._played(key, velocity, ATTACK + LISTENED, 0.0)
            off = self._off[key, layer] = cents_off(
                wave[ATTACK : ATTACK + LISTENED], 440 * 2 ** ((key - 69) / 12)
            )
        return off


def _tunings(moves: Sequence[tuple[int, float]], frames: int) -> list[tuple[int, float | None]]:
    """Return the ends of stretches of a tone, and the tuning of each; None: as before."""
    if not moves:
        return [(frames, None)]
    at = np.array([frame for frame, _ in moves], dtype=float)
    last = min(frames, int(at[-1]) + 1)
    first = min(last, max(0, int(at[0])))
    starts = np.arange(first, last, STEP)
    values = np.interp(starts + STEP / 2, at, [value for _, value in moves])
    ends = [*(int(start) + STEP for start in starts[:-1]), last][: len(starts)]
    steps: list[tuple[int, float | None]] = [(first, None)] if first else []
    steps += zip(ends, values.tolist(), strict=True)
    return [*steps, (frames, moves[-1][1])] if last < frames else steps


def cents_off(wave: NDArray[np.floating], hz: float) -> float:
    """Return by how many cents a tone is off a frequency; 0 where it has no clear pitch."""
    size = 1 << (4 * len(wave) - 1).bit_length()
    spectrum = np.abs(np.fft.rfft(wave * np.blackman(len(wave)), size))
    found = []
    for number in range(1, PARTIALS + 1):
        centre = number * hz * size / RATE
        low, high = (int(centre * 2 ** (by / 1200)) for by in (-WITHIN, WITHIN))
        if high + 2 >= len(spectrum):
            break
        top = low + int(np.argmax(spectrum[low : high + 1]))
        left, middle, right = np.log(np.maximum(spectrum[top - 1 : top + 2], 1e-30))
        if not left < middle > right:
            continue
        place = top + (left - right) / (2 * (left - 2 * middle + right))
        # Upper partials of stiff strings are sharp: the first ones say what the ear takes.
        found.append((1200 * math.log2(place / centre), float(np.exp(middle)) / number))
    if not found:
        return 0.0
    cents, weights = (np.array(column) for column in zip(*found, strict=True))
    weights = np.where(weights >= weights.max() / 10, weights, 0) ** 2
    mean = float(np.average(cents, weights=weights))
    spread = math.sqrt(float(np.average((cents - mean) ** 2, weights=weights)))
    return mean if abs(mean) <= MOST_OFF and spread <= MOST_SPREAD else 0.0


@lru_cache(maxsize=1)
def _loaded(path: Path, digest: str) -> tuple[Synth, int]:
    """Return a synthesiser with the font of a digest, and the font's number in it."""
    from tinysoundfont import Synth

    synth = Synth(samplerate=RATE)
    return synth, synth.sfload(str(path))
