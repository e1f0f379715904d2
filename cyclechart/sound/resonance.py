"""Resonance: decaying modes, bands of noise, and a clean beginning and end for a struck sound.

Everything here is float64; ``finish`` turns it into a Wave.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cyclechart.sound.rate import RATE, Wave

Floats = NDArray[np.float64]

HOP = 256
"""Frames of a block. By sin(a + b) a mode is a factor for each block times one for each frame in
it, so that a sum of modes is one matrix product."""

SILENT_DB = -74
"""dB below its peak at which a sound ends."""
FADE = 441
"""Frames (10 ms) of the fade to exact zero after that."""

LOG_1000 = float(np.log(1000))
"""In its decay time a mode falls 60 dB, to a thousandth."""


def force(velocity: int) -> float:
    """Return the force of a velocity, 0 to 1. ValueError outside 1 to 127."""
    if not 1 <= velocity <= 127:
        raise ValueError(f"A velocity is from 1 to 127, not {velocity}.")
    return velocity / 127


def velocity_gain(velocity: int) -> float:
    """Return the linear gain of a velocity, 1 at 127. ValueError outside 1 to 127.

    9 dB from 64 to 127: our choice, for General MIDI leaves it open.
    """
    return float(force(velocity) ** 1.6)


def linear_gains(decibels: ArrayLike) -> Floats:
    """Return linear gains for levels in dB."""
    result: Floats = 10 ** (np.asarray(decibels, float) / 20)
    return result


def decaying_modes(
    hz: ArrayLike, t60: ArrayLike, gain: ArrayLike, frames: int, phase: ArrayLike = 0.0
) -> Floats:
    """Return the sum of exponentially decaying sines, shape (frames,).

    ``hz``: each mode's frequency; ``t60``: seconds to fall 60 dB; ``gain``: linear; ``phase``:
    radians at frame 0. Each has one number for every mode, or one for all. Modes above 0.45 of
    RATE are left out. Exact: z^(hop·h + k) is z^(hop·h) times z^k.
    """
    hz, t60, gain, phase = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(values, float)) for values in (hz, t60, gain, phase))
    )
    audible = hz < 0.45 * RATE
    hz, t60, gain, phase = hz[audible], t60[audible], gain[audible], phase[audible]
    rate = (-LOG_1000 / t60 + 2j * np.pi * hz) / RATE
    blocks = -(-frames // HOP)
    across = np.exp(np.outer(np.arange(blocks) * HOP, rate)) * (gain * np.exp(1j * phase))
    within = np.exp(np.outer(rate, np.arange(HOP)))
    # The imaginary part alone: two real products in place of a complex one's four.
    result: Floats = across.real @ within.imag + across.imag @ within.real
    return result.reshape(-1)[:frames]


def gliding_sine(track: Floats, t60: float, gain: float) -> Floats:
    """Return a decaying sine whose frequency (Hz, for every frame) is ``track``; same shape."""
    turned = 2 * np.pi * (np.cumsum(track) - track) / RATE
    result: Floats = gain * np.sin(turned) * decay(t60, len(track))
    return result


def gliding_modes(track: Floats, ratios: ArrayLike, t60: ArrayLike, gain: ArrayLike) -> Floats:
    """Return the sum of decaying sines that glide together; the shape of ``track``.

    ``track``: the frequency of the lowest in Hz, for every frame; ``ratios``: each one's multiple
    of it; ``t60`` and ``gain`` as in ``decaying_modes``. Each stops once it is 80 dB down.
    """
    turned = 2 * np.pi * (np.cumsum(track) - track) / RATE
    wave = np.zeros(len(track))
    modes = np.broadcast_arrays(*(np.atleast_1d(np.asarray(v, float)) for v in (ratios, t60, gain)))
    for number, (ratio, lasts, strength) in enumerate(zip(*modes, strict=True)):
        length = min(len(track), int(1.34 * lasts * RATE) + 1)
        # Scattered, for in phase they would make one high spike and little sound after it.
        angle = turned[:length] * ratio + 0.9 * number**2
        wave[:length] += strength * np.sin(angle) * decay(float(lasts), length)
    return wave


def decay(t60: float, frames: int) -> Floats:
    """Return an exponential decay from 1, shape (frames,)."""
    rate = -LOG_1000 / (t60 * RATE)
    blocks = np.exp(rate * HOP * np.arange(-(-frames // HOP)))
    result: Floats = np.outer(blocks, np.exp(rate * np.arange(HOP))).reshape(-1)[:frames]
    return result


def noise_band(low: float, high: float, frames: int, seed: int) -> Floats:
    """Return noise between two frequencies (Hz), RMS 1, shape (frames,).

    The edges are half an octave wide. It is equally strong at every frequency and only its phases
    are random: short noise from random samples is uneven, which would give every stroke the same
    odd tone. It is from NumPy's old generator, whose stream will never change (NEP 19).
    """
    turns = np.random.RandomState(seed).uniform(0, 1, frames // 2 + 1)
    spectrum = np.exp(2j * np.pi * turns)
    octaves = np.log2(np.maximum(np.fft.rfftfreq(frames, 1 / RATE), 1.0))
    above = np.clip((octaves - np.log2(low)) * 2 + 1, 0, 1)
    below = np.clip((np.log2(high) - octaves) * 2 + 1, 0, 1)
    noise = np.fft.irfft(spectrum * np.sin(np.pi / 2 * above * below) ** 2, frames)
    return np.asarray(noise / np.sqrt(np.mean(noise**2)), float)


def noise_burst(low: float, high: float, t60: float, seed: int, frames: int) -> Floats:
    """Return a decaying band of noise, RMS 1 at its beginning, shape (frames,).

    It is silent once it is 80 dB down.
    """
    length = min(frames, int(1.34 * t60 * RATE) + 1)
    noise = np.zeros(frames)
    noise[:length] = noise_band(low, high, length, seed) * decay(t60, length)
    return noise


def fade_in(wave: Floats, seconds: float) -> Floats:
    """Return the wave with its first ``seconds`` faded in by a raised cosine."""
    length = min(len(wave), max(1, round(seconds * RATE)))
    wave = wave.copy()
    wave[:length] *= np.sin(np.pi / 2 * np.arange(length) / length) ** 2
    return wave


def finish(wave: Floats, peak: float) -> Wave:
    """Return the wave scaled to ``peak``, cut at its end, its last 10 ms faded to exact zero."""
    size = np.abs(wave)
    top = float(size.max())
    loud = np.flatnonzero(size > top * 10 ** (SILENT_DB / 20))
    wave = wave[: int(loud[-1]) + 1 + FADE] * (peak / top)
    length = min(FADE, len(wave))
    wave[len(wave) - length :] *= np.cos(np.pi / 2 * np.arange(1, length + 1) / length) ** 2
    wave[-1] = 0.0
    return wave.astype(np.float32)
