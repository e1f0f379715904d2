"""The sound of a player for a small loudspeaker, which plays nothing of the lowest two octaves.

What it would only distort is reduced, the upper partials are raised, and where asked for, partials
are added that the lowest ones lead the ear to: it hears the pitch of a fundamental that is missing
(Fastl and Zwicker, Psychoacoustics, 3rd ed., ch. 5, virtual pitch; from memory). The page has the
same filters (``static/loudspeaker.js``), which are those of the Web Audio API's BiquadFilterNode.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from cyclechart.sound.rate import RATE, Wave

LOW_HZ = 90.0
"""The second-order high-pass below which the small membrane only distorts."""
SHELF_HZ = 600.0
"""The middle of the shelf that raises upper partials."""
BAND_HZ = 250.0
"""The fourth-order low-pass: what is below it gets further partials."""
FROM_HZ, TO_HZ = 300.0, 1500.0
"""The further partials: a fourth-order high-pass and a second-order low-pass."""
DRIVE, BIAS = 14.0, 0.5
"""The curve of the further partials, tanh(DRIVE·x + BIAS): odd ones, by the bias even ones."""

SECOND_ORDER = (1 / math.sqrt(2),)
"""The quality of a Butterworth filter of the second order."""
FOURTH_ORDER = (0.541196100146197, 1.3065629648763766)
"""The qualities of the second-order sections of a Butterworth filter: 1 / (2 cos(π/8)) and 1 / (2
cos(3π/8))."""


class SpeakerFilter:
    """The filters of one player for a small loudspeaker, block by block.

    ``shelf``: dB by which upper partials are raised. ``partials``: dB of what is added to the low
    end, None for nothing.
    """

    def __init__(self, shelf: float = 0.0, partials: float | None = None) -> None:
        main = [_high_pass(LOW_HZ, *SECOND_ORDER)]
        self._main = _Sections([*main, _high_shelf(SHELF_HZ, shelf)] if shelf else main)
        self._gain = None if partials is None else 10 ** (partials / 20)
        self._band = _Sections([_low_pass(BAND_HZ, q) for q in FOURTH_ORDER])
        low_end = [_high_pass(FROM_HZ, q) for q in FOURTH_ORDER]
        self._ends = _Sections([*low_end, _low_pass(TO_HZ, *SECOND_ORDER)])

    def filtered(self, wave: Wave) -> Wave:
        """Return the next block of the player's wave as the loudspeaker is to have it."""
        out = self._main.filtered(wave)
        if self._gain is not None:
            out += self._gain * self._ends.filtered(shaped(self._band.filtered(wave)))
        return out.astype(np.float32)


def shaped(band: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the low band with the further partials: silence stays silence."""
    curve: NDArray[np.float64] = np.tanh(DRIVE * band + BIAS) - math.tanh(BIAS)
    return curve


class _Sections:
    """Second-order sections that remember where they are."""

    def __init__(self, sections: list[list[float]]) -> None:
        self.sections = sections
        self._state = np.zeros((len(sections), 2))

    def filtered(self, wave: NDArray[np.floating]) -> NDArray[np.float64]:
        from scipy.signal import sosfilt

        if not wave.any() and np.abs(self._state).max() < 1e-9:
            # Filters that ring out in silence do so in denormal numbers, which are slow.
            self._state[:] = 0
            return np.zeros(len(wave))
        out, self._state = sosfilt(np.array(self.sections), wave.astype(np.float64), zi=self._state)
        filtered: NDArray[np.float64] = out
        return filtered


# The sections of the "Cookbook formulae for audio equalizer biquad filter coefficients" (R.
# Bristow-Johnson; W3C Note, 2021), which the Web Audio API has, too.


def _angle(hz: float, quality: float) -> tuple[float, float]:
    turn = 2 * math.pi * hz / RATE
    return math.cos(turn), math.sin(turn) / (2 * quality)


def _section(b: tuple[float, float, float], a: tuple[float, float, float]) -> list[float]:
    return [value / a[0] for value in (*b, *a)]


def _low_pass(hz: float, quality: float) -> list[float]:
    cos, alpha = _angle(hz, quality)
    half = (1 - cos) / 2
    return _section((half, 2 * half, half), (1 + alpha, -2 * cos, 1 - alpha))


def _high_pass(hz: float, quality: float) -> list[float]:
    cos, alpha = _angle(hz, quality)
    half = (1 + cos) / 2
    return _section((half, -2 * half, half), (1 + alpha, -2 * cos, 1 - alpha))


def _high_shelf(hz: float, decibels: float) -> list[float]:
    cos, alpha = _angle(hz, *SECOND_ORDER)
    gain = 10 ** (decibels / 40)
    plus, minus, root = gain + 1, gain - 1, 2 * math.sqrt(gain) * alpha
    return _section(
        (
            gain * (plus + minus * cos + root),
            -2 * gain * (minus + plus * cos),
            gain * (plus + minus * cos - root),
        ),
        (plus - minus * cos + root, 2 * (minus - plus * cos), plus - minus * cos - root),
    )
