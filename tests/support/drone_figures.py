"""What is measured of a drone: partials, the place of its band, tuning, beats, loudness."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.fft import rfft
from support.making import piece_of

from cyclechart.arrange.rehearse.recipes import drone_alone
from cyclechart.sound.loudness import Meter
from cyclechart.sound.rate import RATE
from cyclechart.sound.strings import pluck, tuned_string_hz
from cyclechart.write.audio.performance import PartEvents, performance_of
from cyclechart.write.audio.stems import stem

Samples = NDArray[np.float64]

PLUCKED_AGAIN = 4.5
"""Seconds after which a string is plucked again."""


def spectrum(wave: ArrayLike) -> tuple[Samples, Samples]:
    """Return the power at each frequency, and the frequencies."""
    samples = np.asarray(wave, float)
    power = np.abs(np.fft.rfft(samples * np.hanning(len(samples)))) ** 2
    return power, np.arange(len(power)) * RATE / len(samples)


def first_partial_share(wave: ArrayLike, hz: float) -> float:
    """Return the part of the energy that partial 1 has."""
    power, at = spectrum(wave)
    return float(power[(at > 0.6 * hz) & (at < 1.4 * hz)].sum() / power.sum())


def band_centre(wave: ArrayLike) -> float:
    """Return the mean frequency of the energy, in Hz."""
    power, at = spectrum(wave)
    return float((power * at).sum() / power.sum())


def cents_off(wave: ArrayLike, hz: float) -> float:
    """Return the cents from a frequency of the line beside it: the mean of the energy within three
    tenths of a Hz of the highest place, so that slow beats count with both their sides."""
    samples = np.asarray(wave, float)
    power = np.abs(rfft(samples * np.blackman(len(samples)))) ** 2
    at = np.arange(len(power)) * RATE / len(samples)
    near = (at > hz * 2 ** (-10 / 1200)) & (at < hz * 2 ** (10 / 1200))
    top = at[near][np.argmax(power[near])]
    line = np.abs(at - top) < 0.3
    return float(1200 * np.log2((power[line] * at[line]).sum() / power[line].sum() / hz))


def played(hz: float, seconds: float, string: int) -> Samples:
    """Return a string plucked every 4.5 seconds or so, as long as that."""
    frames = round(seconds * RATE)
    wave = np.zeros(frames)
    random = np.random.default_rng(string)
    at = round(string * 1.125 * RATE)
    while at < frames:
        after = min(frames, at + round((PLUCKED_AGAIN + random.uniform(-0.07, 0.07)) * RATE))
        wave[at:after] += pluck(hz, after - at, 58, at)
        at = after
    return wave


def beat_hz(hz: float, number: int) -> float:
    """Return how often a partial of the two strings of Sa beats: the difference of its lines."""
    lines = []
    for string in (1, 2):
        tuned = tuned_string_hz(hz, string)
        wave = played(tuned, 60, string)
        lines.append(hz * number * 2 ** (cents_off(wave, hz * number) / 1200))
    return abs(lines[1] - lines[0])


def loudness(wave: ArrayLike) -> float:
    """Return the integrated loudness of a mono wave on one channel's worth of energy, in LUFS."""
    meter = Meter()
    samples = np.asarray(wave, np.float32) / np.sqrt(2)
    meter.add(np.stack([samples, samples], axis=1).astype(np.float32))
    return meter.integrated()


def round_of_drone() -> tuple[PartEvents, int]:
    """Return the part and the frames of one round of a drone on D."""
    piece = piece_of(
        'players: {flute: , tanpura: }\nlines:\n  a: {sargam: "S - G - P - S\' -"}\n', mode="yaman"
    )
    performance = performance_of(drone_alone(piece).score)
    return performance.parts[0], performance.frames


def strings_of_round() -> tuple[Samples, list[int]]:
    """Return one round of the drone as it is looped, and the frames of its plucks."""
    part, frames = round_of_drone()
    wave = np.concatenate(list(stem(part, frames, seamless=True))).astype(float)
    return wave, [tone.start for tone in part.tones]
