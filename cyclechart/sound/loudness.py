"""Loudness by ITU-R BS.1770-4 (K-weighting, gated blocks), block by block."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from cyclechart.sound.rate import RATE, Stereo

STEP = RATE // 10
"""Frames (0.1 s) from one gating block to the next."""
STEPS = 4
"""The steps in a gating block."""
ABSOLUTE, RELATIVE = -70.0, -10.0
"""Gates: LUFS, and LU against the loudness of the blocks above the first gate."""
OFFSET = -0.691
"""dB: with it a full-scale sine at 997 Hz in one channel reads -3.01, as the standard asks."""


def _weights() -> NDArray[np.float64]:
    """Return the two filters of the K-weighting as second-order sections, shape (2, 6).

    The standard prints them for 48 kHz; for another rate they follow from the analogue ones (B. De
    Man, "Evaluation of Implementations of the EBU R128 Loudness Measurement", AES 145, 2018).
    """
    centre, gain, quality = 1681.974450955533, 3.999843853973347, 0.7071752369554196
    k = math.tan(math.pi * centre / RATE)
    high = 10 ** (gain / 20)
    band = high**0.4996667741545416
    a0 = 1 + k / quality + k * k
    shelf = [
        (high + band * k / quality + k * k) / a0,
        2 * (k * k - high) / a0,
        (high - band * k / quality + k * k) / a0,
        1.0,
        2 * (k * k - 1) / a0,
        (1 - k / quality + k * k) / a0,
    ]
    centre, quality = 38.13547087602444, 0.5003270373238773
    k = math.tan(math.pi * centre / RATE)
    a0 = 1 + k / quality + k * k
    low_cut = [1.0, -2.0, 1.0, 1.0, 2 * (k * k - 1) / a0, (1 - k / quality + k * k) / a0]
    return np.array([shelf, low_cut])


RINGING = RATE // 4
"""Frames after which the filters no longer ring (the slower: 4 ms to 1/e)."""


class Meter:
    """A loudness meter that takes blocks of any length and gives the loudness of all together."""

    def __init__(self) -> None:
        self._sections = _weights()
        self._state = np.zeros((2, 2, 2))
        self._left = np.zeros((0, 2))
        self._energies: list[NDArray[np.float64]] = []

    def add(self, block: Stereo) -> None:
        """Measure a further block, shape (frames, 2)."""
        from scipy.signal import sosfilt

        if not len(block):
            return
        # In silence the filters ring out in denormal numbers, which are slow to compute with.
        until = len(block) if block.any() else min(len(block), RINGING)
        weighted, self._state = sosfilt(self._sections, block[:until], axis=0, zi=self._state)
        if until < len(block):
            self._state[:] = 0
            weighted = np.concatenate([weighted, np.zeros((len(block) - until, 2))])
        weighted = np.concatenate([self._left, weighted])
        whole = len(weighted) // STEP
        self._left = weighted[whole * STEP :]
        if whole:
            steps = weighted[: whole * STEP].reshape(whole, STEP, 2)
            self._energies.append(np.einsum("ijk,ijk->i", steps, steps) / STEP)

    def integrated(self) -> float:
        """Return LUFS of all blocks; minus infinity for silence and for less than 0.4 s."""
        steps = np.concatenate(self._energies) if self._energies else np.zeros(0)
        if len(steps) < STEPS:
            return -math.inf
        blocks = np.convolve(steps, np.full(STEPS, 1 / STEPS), "valid")
        with np.errstate(divide="ignore"):
            loud = OFFSET + 10 * np.log10(blocks)
        gated = blocks[loud > ABSOLUTE]
        if not len(gated):
            return -math.inf
        gate = OFFSET + 10 * math.log10(gated.mean()) + RELATIVE
        gated = blocks[loud > max(gate, ABSOLUTE)]
        return OFFSET + 10 * math.log10(gated.mean())
