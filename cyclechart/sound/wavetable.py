"""Wavetables: one period of a tone, band-limited for each pitch, and noise in a band."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from cyclechart.sound.rate import RATE
from cyclechart.sound.spectra import Zone, partial_sign
from cyclechart.sound.voice_tables import REFERENCE_HZ, Noise, Voice

Floats: TypeAlias = NDArray[np.float64]

POINTS = 2048
"""Samples of a period: with linear interpolation the images of partial n lie (n/2048)² down."""
ROWS = 16
"""Brightness levels of a bank."""
TOP_HZ = 0.45 * RATE
"""The highest frequency of a partial, in Hz."""
NOISE_FRAMES = 1 << 17
"""Frames of a loop of noise: three seconds, seamless."""

_FLOOR = 3e-5
"""The amplitude of a missing partial where levels or zones are interpolated (in dB)."""


def bank_step(hz: float) -> int:
    """Return the step of the bank for a pitch: the semitone whose upper edge is at or above it."""
    return math.ceil(round(12 * math.log2(hz / REFERENCE_HZ), 6))


@lru_cache(maxsize=192)
def partial_bank(voice: Voice, step: int) -> Floats:
    """Return the partials of a voice for pitches up to ``step`` semitones above middle C.

    Shape (ROWS, partials): amplitudes of sines with their signs, brightness from 0 to 1 down the
    rows; RMS of each row 1. There is always a partial 1.
    """
    hz = REFERENCE_HZ * 2 ** (step / 12)
    levels = _levels(voice.zones, hz)
    levels = levels[:, : max(1, int(TOP_HZ / hz))]
    at = np.linspace(0, len(levels) - 1, ROWS)
    below = np.minimum(at.astype(int), len(levels) - 2)
    logs = np.log(levels)
    amplitudes = np.exp(logs[below] + (at - below)[:, None] * (logs[below + 1] - logs[below]))
    amplitudes[amplitudes <= _FLOOR] = 0
    amplitudes *= np.sqrt(2 / np.sum(amplitudes**2, axis=1, keepdims=True))
    amplitudes *= [partial_sign(partial + 1) for partial in range(amplitudes.shape[1])]
    bank: Floats = amplitudes
    bank.setflags(write=False)
    return bank


def _levels(zones: tuple[Zone, ...], hz: float) -> Floats:
    """Return amplitudes without signs between the zones around a pitch: (levels, partials)."""
    above = next((i for i, zone in enumerate(zones) if zone.hz >= hz), len(zones) - 1)
    upper, lower = zones[above], zones[max(0, above - 1)]
    count = max(len(upper.levels[0]), len(lower.levels[0]))
    tables = []
    for zone in (lower, upper):
        table = np.full((len(zone.levels), count), _FLOOR)
        table[:, : len(zone.levels[0])] = np.maximum(np.abs(zone.levels), _FLOOR)
        tables.append(np.log(table))
    part = 1.0
    if lower is not upper:
        part = min(1.0, max(0.0, math.log(hz / lower.hz) / math.log(upper.hz / lower.hz)))
    levels: Floats = np.exp(tables[0] + part * (tables[1] - tables[0]))
    return levels


def partials_at(bank: Floats, brightness: float) -> Floats:
    """Return the partials of a bank at one brightness from 0 to 1, between its rows."""
    at = min(1.0, max(0.0, brightness)) * (ROWS - 1)
    below = min(int(at), ROWS - 2)
    partials: Floats = bank[below] + (at - below) * (bank[below + 1] - bank[below])
    return partials


def waveform(partials: Floats) -> Floats:
    """Return one period of a sum of sines, shape (POINTS + 1,), its first sample repeated."""
    spectrum = np.zeros(POINTS // 2 + 1, complex)
    spectrum.imag[1 : len(partials) + 1] = partials * (-0.5 * POINTS)
    period = np.empty(POINTS + 1)
    period[:POINTS] = np.fft.irfft(spectrum, POINTS)
    period[POINTS] = period[0]
    return period


def read_faded(first: Floats, last: Floats, turns: Floats, along: Floats) -> Floats:
    """Return samples at phases ``turns`` (periods, at least 0), fading between two tables.

    ``along``: the part of the fade at each sample, 0 to 1; same shape as ``turns``.
    """
    at = turns * POINTS
    below = at.astype(np.intp)
    at -= below
    below &= POINTS - 1
    above = below + 1
    sound = first.take(below)
    sound += at * (first.take(above) - sound)
    if first is not last:
        other = last.take(below)
        other += at * (last.take(above) - other)
        other -= sound
        other *= along
        sound += other
    return sound


@lru_cache(maxsize=32)
def noise_loop(band: Noise) -> Floats:
    """Return a loop of noise in a band, RMS 1, shape (NOISE_FRAMES,), the same each time.

    Random phases under an even spectrum whose edges fall over a third of an octave or so.
    """
    # NumPy promises that the numbers of its old generator never change (NEP 19).
    phases = np.random.RandomState(7).uniform(0, 2 * np.pi, NOISE_FRAMES // 2 + 1)
    hz = np.fft.rfftfreq(NOISE_FRAMES, 1 / RATE)
    shape = 1 / np.sqrt((1 + (band.low / np.maximum(hz, 1)) ** 8) * (1 + (hz / band.high) ** 8))
    shape[0] = shape[-1] = 0
    loop = np.fft.irfft(shape * np.exp(1j * phases), NOISE_FRAMES)
    loop /= np.sqrt(np.mean(loop**2))
    loop.setflags(write=False)
    return loop
