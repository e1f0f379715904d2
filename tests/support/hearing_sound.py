"""An ear for tests: reads files of sound, and measures pitch, peaks, beginnings and energy.

Knows nothing of how the sound was made. A steady pitch is the top of a parabola through a padded
spectrum (common practice); a peak between samples is found by eight times as many of them (ITU-R
BS.1770-4, annex 2, asks for four times at least).
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pyloudnorm
import pytest
import soundfile
from numpy.typing import NDArray
from scipy.signal import firwin, resample_poly
from scipy.signal.windows import blackmanharris

Sound = NDArray[np.float64]

RATE = 44_100


def read_sound(path: Path) -> Sound:
    """A file's samples, shape (frames, 2)."""
    sound, rate = soundfile.read(path, dtype="float64", always_2d=True)
    assert rate == RATE
    return np.asarray(sound)


def cents_off(sound: Sound, seconds: tuple[float, float], hz: float) -> float:
    """By how many cents the line nearest to ``hz`` is off it, in a stretch of a mono sound."""
    part = sound[round(seconds[0] * RATE) : round(seconds[1] * RATE)]
    size = 1 << 20
    assert len(part) < size
    spectrum = np.abs(np.fft.rfft(part * blackmanharris(len(part)), size))
    place = round(hz * size / RATE)
    # A third of a semitone to either side.
    reach = max(4, round(place * 0.02))
    low = place - reach
    top = low + int(np.argmax(spectrum[low : place + reach + 1]))
    assert low < top < place + reach, "no line there"
    left, middle, right = np.log(spectrum[top - 1 : top + 2])
    found = top + (left - right) / (2 * (left - 2 * middle + right))
    return 1200 * math.log2(found * RATE / size / hz)


def true_peak_db(sound: Sound) -> float:
    """dBTP of all of it."""
    window = firwin(8 * 48 + 1, 1 / 8, window=("kaiser", 8.0))
    highest = 0.0
    for at in range(0, len(sound), RATE):
        part = sound[max(0, at - 100) : at + RATE + 100]
        # An eighth of its own peak cannot grow to eight: only the loud seconds are gone into.
        if np.abs(part).max(initial=0) > 0.4:
            finer = resample_poly(part, 8, 1, axis=0, window=window)
            highest = max(highest, float(np.abs(finer).max()))
        else:
            highest = max(highest, 2 * float(np.abs(part).max(initial=0)))
    return 20 * math.log10(max(highest, 1e-12))


def rms(sound: Sound) -> float:
    return float(np.sqrt(np.mean(np.square(np.asarray(sound, float))))) if len(sound) else 0.0


def rms_db(sound: Sound) -> float:
    return 20 * math.log10(max(rms(sound), 1e-12))


def onset_seconds(sound: Sound, at: float, before: float = 0.02, within: float = 0.05) -> float:
    """Seconds from ``at`` to the first sample that is over a hundredth of what comes then; only
    quiet may come before."""
    mono = np.abs(sound).max(axis=1)
    start = max(0, round((at - before) * RATE))
    part = mono[start : round((at + within) * RATE)]
    over = np.flatnonzero(part > part.max() / 100)
    return (start + int(over[0])) / RATE - at


def check_mastered(sound: Sound) -> None:
    """A file is as loud as it is to be (by pyloudnorm, ITU-R BS.1770-4), and no peak too high."""
    meter = pyloudnorm.Meter(RATE, filter_class="DeMan")
    assert meter.integrated_loudness(sound) == pytest.approx(-16.0, abs=0.5)
    assert true_peak_db(sound) <= -1.0
