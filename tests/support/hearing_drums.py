"""What is heard of a stroke: its onset above 2 kHz, its brightness, how long it falls."""

from __future__ import annotations

import numpy as np
from scipy.signal import butter, sosfilt

from cyclechart.sound.rate import RATE, Wave

ONSET = round(0.015 * RATE)
BRIGHT = butter(8, 2000, "high", fs=RATE, output="sos")
SMALL = butter(4, 450, "high", fs=RATE, output="sos")
"""A stand-in for a phone's loudspeaker."""


def energy(wave: Wave) -> float:
    return float(np.sum(np.asarray(wave, float) ** 2))


def onset_db(wave: Wave) -> float:
    """dB of what is above 2 kHz in the first 15 ms, against all of it."""
    return 10 * float(
        np.log10(energy(sosfilt(BRIGHT, wave.astype(float))[:ONSET]) / energy(wave[:ONSET]))
    )


def small_db(wave: Wave) -> float:
    """dB of a stroke's energy that a small loudspeaker plays."""
    return 10 * float(np.log10(energy(sosfilt(SMALL, wave.astype(float))) / energy(wave)))


def centroid(wave: Wave) -> float:
    """The centre of the energy over the spectrum, in Hz."""
    power = np.abs(np.fft.rfft(wave, 1 << 18)) ** 2
    return float((np.fft.rfftfreq(1 << 18, 1 / RATE) * power).sum() / power.sum())


def falls(wave: Wave, decibels: float) -> float:
    """Seconds until the level of 10 ms has fallen so far from the loudest."""
    step = RATE // 100
    count = len(wave) // step
    level = np.mean(wave[: count * step].astype(float).reshape(count, step) ** 2, axis=1)
    top = int(level.argmax())
    below = level[top:] < level[top] * 10 ** (-decibels / 10)
    return (top + int(below.argmax())) * step / RATE
