"""Cymbals: hi-hat, ride and crash, as single modes over a dense field of them, and the stick.

A cymbal has so many modes that all but the lowest are one band of noise; its energy comes up from
the low modes into the kHz within some hundredths of a second (Fletcher and Rossing, The Physics of
Musical Instruments, 2nd ed. 1998, ch. 20; from memory). Levels and decay times are ours; those of
free sampled kits were measured for the time in which they fall 30 dB.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cyclechart.sound.rate import RATE
from cyclechart.sound.resonance import (
    LOG_1000,
    Floats,
    decaying_modes,
    fade_in,
    linear_gains,
    noise_burst,
)
from cyclechart.sound.variants import Variant

SINGLE = 40
"""The modes of a cymbal that are computed one by one."""
WINDOW, STEP = 1024, 512
"""Frames of a piece of the dense field, and from one piece to the next."""
BUILDING = 40
"""Pieces (0.46 s) after which all modes have come up."""
LONGEST = 4.2
"""The longest ring of a cymbal, in seconds."""
SOFTER = 3.0
"""dB an octave by which a soft stroke is duller than the hardest."""


@dataclass(frozen=True, slots=True)
class Cymbal:
    """A cymbal as it is struck in one way.

    ``low``, ``high``: its band in Hz, with decay times (60 dB) of ``t60`` seconds at either end and
    a spectrum that falls by ``tilt`` dB an octave; ``dense``: the level of the dense field against
    the single modes in dB; ``builds``: the seconds in which the highest modes come up; ``stick``:
    the band and the decay time of the stick's noise, and its level in dB against the rest.
    """

    seed: int
    low: float
    high: float
    t60: tuple[float, float]
    tilt: float
    dense: float
    builds: float
    stick: tuple[float, float, float, float]
    ping: tuple[tuple[float, float, float], ...] = ()
    """Modes that stand out: hertz, decay time, level in dB against the rest."""

    @property
    def frames(self) -> int:
        """The frames in which the longest mode falls 80 dB."""
        longest = max((*self.t60, *(t60 for _, t60, _ in self.ping)))
        return round(min(LONGEST, 1.34 * longest + 0.02) * RATE)


CLOSED_HAT = Cymbal(15, 2600, 15e3, (0.17, 0.12), -1, 4, 0.0, (5000, 15e3, 0.03, 0))
PEDAL_HAT = Cymbal(16, 1500, 10e3, (0.15, 0.09), 2, 3, 0.0, (2200, 7000, 0.02, -12))
OPEN_HAT = Cymbal(15, 1900, 15e3, (2.6, 2.2), -0.5, 6, 0.004, (5000, 14e3, 0.04, -3))
RIDE = Cymbal(
    17, 420, 15e3, (3.6, 2.4), 0.2, 4, 0.010, (7000, 15e3, 0.06, 11),
    ((3415, 0.8, -12), (4130, 0.9, -10), (5290, 0.7, -10), (6840, 0.5, -10), (8710, 0.4, -10)),
)  # fmt: skip
BELL = Cymbal(
    19, 700, 13e3, (2.0, 1.2), 1.5, 0, 0.008, (5000, 13e3, 0.03, 0),
    ((1180, 1.5, 8), (1790, 1.4, 10), (2640, 1.1, 8), (3390, 0.9, 6), (4510, 0.6, 2),
     (6120, 0.4, -1)),
)  # fmt: skip
CRASH = Cymbal(18, 360, 15e3, (4.0, 2.6), 1.2, 5, 0.03, (3000, 12e3, 0.05, -4))


def cymbal_stroke(cymbal: Cymbal, hard: float, variant: Variant) -> Floats:
    """Return a stroke on a cymbal at any level; ``hard``: its force, 0 to 1."""
    frames = cymbal.frames
    duller = SOFTER * (1 - variant.hardness(hard))
    wave = _single(cymbal, duller, variant, frames)
    start = _rms(wave)
    # What is dense has its energy spread over all modes: its level is set by the strongest moment.
    dense = _dense(cymbal, duller, variant, frames)
    wave += dense * (start * float(linear_gains(cymbal.dense)) / _rms(dense))
    level = _rms(wave)
    for (hz, t60, decibels), moved in zip(
        cymbal.ping, variant.ratios(len(cymbal.ping)), strict=True
    ):
        gain = level * float(linear_gains(decibels)) * np.sqrt(2) * (0.6 + 0.4 * hard)
        wave += gain * decaying_modes(hz * moved, t60, 1.0, frames, hz)
    wave = fade_in(wave, 0.0008)
    low, high, t60, decibels = cymbal.stick
    high = max(high * (0.6 + 0.4 * variant.hardness(hard)), 1.5 * low)
    stick = noise_burst(low, high, t60, variant.seed(cymbal.seed + 20), frames)
    gain = level * float(linear_gains(decibels - 8 * (1 - hard)))
    return wave + gain * fade_in(stick, 0.0004)


def _rms(wave: Floats) -> float:
    """Return the level of the first tenth of a second."""
    return float(np.sqrt(np.mean(wave[: RATE // 10] ** 2)))


def _decay_times(cymbal: Cymbal, octaves: Floats) -> Floats:
    """Return the decay time of modes so many octaves above the lowest."""
    place = np.clip(octaves / np.log2(cymbal.high / cymbal.low), 0, 1)
    low, high = cymbal.t60
    result: Floats = low * (high / low) ** place
    return result


def _single(cymbal: Cymbal, duller: float, variant: Variant, frames: int) -> Floats:
    """Return the lower modes, which the ear hears one by one: as many in each octave."""
    random = np.random.RandomState(cymbal.seed)
    top = min(cymbal.high, 12 * cymbal.low, 9000.0)
    place = (np.arange(SINGLE) + random.uniform(0, 1, SINGLE)) / SINGLE
    hz = cymbal.low * (top / cymbal.low) ** place * variant.ratios(SINGLE)
    octaves = np.log2(hz / cymbal.low)
    decibels = -(cymbal.tilt + duller) * octaves + 2 * variant.decibels(SINGLE)
    gain = random.uniform(0.3, 1.0, SINGLE) * linear_gains(decibels)
    phase = random.uniform(0, 2 * np.pi, SINGLE)
    lasts = _decay_times(cymbal, octaves)
    wave = decaying_modes(hz, lasts, gain, frames, phase)
    if cymbal.builds:
        # Modes that build up late are taken away at first: the same modes, soon over.
        late = gain * np.clip(octaves / octaves.max(), 0, 1)
        rises = 1 / (1 / lasts + 1 / (3 * cymbal.builds))
        soon = min(frames, round(1.5 * 3 * cymbal.builds * RATE))
        wave[:soon] -= decaying_modes(hz, rises, late, soon, phase)
    return wave


def _dense(cymbal: Cymbal, duller: float, variant: Variant, frames: int) -> Floats:
    """Return the field of modes too dense to be told apart: noise that decays as they do."""
    pieces = -(-frames // STEP) + 1
    hz = np.fft.rfftfreq(WINDOW, 1 / RATE)
    octaves = np.log2(np.maximum(hz, 1.0) / cymbal.low)
    inside = np.clip(2 * octaves, 0, 1) * np.clip(
        2 * np.log2(cymbal.high / np.maximum(hz, 1)), 0, 1
    )
    strength = inside * linear_gains(-(cymbal.tilt + duller) * octaves)
    levels = strength * _falling(_decay_times(cymbal, octaves), pieces)
    if cymbal.builds:
        rise = 0.3 * cymbal.builds * np.maximum(octaves, 0.1)
        seconds = (np.arange(min(pieces, BUILDING)) * STEP / RATE)[:, None]
        levels[:BUILDING] *= 1 - np.exp(-(seconds + 0.004) / rise)
    turns = np.random.RandomState(variant.seed(cymbal.seed)).bytes(pieces * len(hz))
    phases = _TURNS[np.frombuffer(turns, np.uint8)].reshape(pieces, len(hz))
    # Windows of half a sine, half over each other: their squares add to one, so the level is even.
    window = np.sin(np.pi * (np.arange(WINDOW) + 0.5) / WINDOW)
    parts = np.fft.irfft(levels * phases, WINDOW, axis=1) * window
    wave = np.zeros((pieces + 1, STEP))
    wave[:-1] += parts[:, :STEP]
    wave[1:] += parts[:, STEP:]
    # From the middle of the first piece, where it is at its height.
    return wave.reshape(-1)[STEP : STEP + frames]


def _falling(t60: Floats, pieces: int) -> Floats:
    """Return the level of each band in each piece, from 1 on: a factor for eight pieces at once."""
    rate = -LOG_1000 * STEP / RATE / t60
    eighths = np.exp(np.arange(-(-pieces // 8))[:, None] * 8 * rate)
    each = np.exp(np.arange(8)[:, None] * rate)
    result: Floats = (eighths[:, None] * each).reshape(-1, len(t60))[:pieces]
    return result


_TURNS = np.exp(2j * np.pi * np.arange(256) / 256)
"""The phases that a byte stands for."""
