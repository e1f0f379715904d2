"""Measures of a held note: harmonics to noise, movement of partials, mean pitch."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.signal.windows import blackmanharris

from cyclechart.sound.rate import RATE
from cyclechart.sound.voices import tone

SAMPLED_HNR = {"reed": 16.5, "bowed": 14.0, "flute": 21.5, "brass": 23.0, "sitar": 19.0,
               "steel": 52.0}  # fmt: skip
"""dB, of samples of two free General MIDI sound fonts; a saxophone, strings, a flute, a trumpet, a
sitar, a steel guitar."""
SAMPLED_MOVEMENT = (0.8, 2.8)
"""dB by which partials of a sampled saxophone move."""
STATIC_HNR = {"flute": 37.0, "reed": 48.0, "brass": 50.0, "bowed": 42.0, "lute": 73.0}
"""dB, of these voices before they changed (30 November 2026)."""
STATIC_MOVEMENT = 0.02
"""dB, of the reed before it changed (30 November 2026)."""

HELD = {"flute": 622.3, "bass": 82.4, "brass": 311.1, "bowed": 392.0, "marimba": 220.0}
"""The pitches (Hz) that are measured, others at ``USUAL``."""
USUAL = 293.7
SECONDS = 3.0
NEAR = 12.0
"""Hz to either side of a partial that are taken as the partial itself."""
WINDOW = 0.1
"""Seconds over which the level of a partial is taken."""

Floats = NDArray[np.float64]


class Measures(NamedTuple):
    """``hnr``: harmonics to noise, dB; ``movement``: the standard deviation of the level of the
    partials within 30 dB of the strongest, dB; ``cents``: the mean pitch off the one asked for."""

    hnr: float
    movement: float
    cents: float


def measures(voice: str, hz: float, velocity: int = 86) -> Measures:
    """Return the measures of a held note from its half second on."""
    frames = round((SECONDS + 0.5) * RATE)
    sound = tone(voice, hz, frames, velocity)[RATE // 2 : frames].astype(float)
    return Measures(
        harmonics_to_noise(sound, hz), partial_movement(sound, hz), cents_off(sound, hz)
    )


def harmonics_to_noise(sound: Floats, hz: float) -> float:
    """Return the energy of partials over that between them, dB, the fall of the tone taken out."""
    power = np.abs(np.fft.rfft(_level(sound) * blackmanharris(len(sound)))) ** 2
    at = np.fft.rfftfreq(len(sound), 1 / RATE)
    harmonic = (np.abs(at - hz * np.round(at / hz)) < NEAR) & (at > hz / 2)
    # What of the noise lies under the partials is missing from the rest, and made up for.
    noise = power[~harmonic].sum() / max(0.1, 1 - 2 * NEAR / hz)
    return 10 * math.log10(power[harmonic].sum() / noise)


def partial_movement(sound: Floats, hz: float) -> float:
    """Return how the levels of strong partials move about a straight fall, dB."""
    size = round(WINDOW * RATE)
    window = np.hanning(size)
    starts = range(0, len(sound) - size, size // 2)
    times = np.arange(size) / RATE
    found = []
    for partial in range(1, 13):
        if partial * hz > 8000:
            break
        turning = window * np.exp(-2j * np.pi * partial * hz * times)
        found.append([abs(np.dot(turning, sound[at : at + size])) for at in starts])
    levels = 20 * np.log10(np.array(found) + 1e-9)
    strong = levels.mean(axis=1) > levels.mean(axis=1).max() - 30
    steps = np.arange(levels.shape[1])
    # A decaying tone bends at first: a cubic follows it, and is too stiff for slow change.
    moved = [row - np.polyval(np.polyfit(steps, row, 3), steps) for row in levels[strong]]
    return float(np.std(moved))


def _level(sound: Floats) -> Floats:
    """Return the sound with an exponential fall made even."""
    size = RATE // 10
    rms = np.sqrt([np.mean(sound[at : at + size] ** 2) for at in range(0, len(sound) - size, size)])
    slope = np.polyfit(np.arange(len(rms)) * size, np.log(rms + 1e-9), 1)[0]
    return np.asarray(sound * np.exp(-slope * np.arange(len(sound))))


def cents_off(sound: Floats, hz: float) -> float:
    """Return the mean pitch of partial 1 off ``hz``, by its phase (Flanagan and Golden, 1966)."""
    size = RATE // 2
    turning = np.exp(-2j * np.pi * hz * np.arange(len(sound)) / RATE) * sound
    window = np.hanning(size)
    first, last = turning[:size] @ window, turning[-size:] @ window
    turns = np.angle(last / first) / (2 * np.pi)
    return float(1200 * math.log2(1 + turns * RATE / (len(sound) - size) / hz))
