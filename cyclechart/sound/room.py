"""A small room: some first reflections and a short tail, the same on every run."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from cyclechart.sound.rate import RATE, Stereo, Wave

SECONDS = 0.45
"""The length of the response."""
DECAY = 0.35
"""Seconds to fall 60 dB: a room with curtains (our choice)."""
FIRST = ((0.0071, 0.32, 0.75), (0.0113, 0.75, 0.3), (0.0172, 0.28, 0.55), (0.0229, 0.5, 0.27))
"""First reflections: seconds, gain on the left, gain on the right (our choice)."""
BLOCK = 1 << 16
"""Frames of a block of the convolution."""


@lru_cache(maxsize=1)
def response() -> NDArray[np.float64]:
    """Return the impulse response, shape (frames, 2); each side has an energy of 1."""
    frames = int(SECONDS * RATE)
    rng = np.random.default_rng(41)
    time = np.arange(frames) / RATE
    # High frequencies decay first: two layers of noise, the bright one shorter.
    dull = rng.standard_normal((frames, 2))
    kernel = np.hanning(25) / np.hanning(25).sum()
    dull = np.stack([np.convolve(dull[:, side], kernel, "same") for side in (0, 1)], axis=1)
    bright = rng.standard_normal((frames, 2))
    bright = np.stack(
        [
            np.convolve(bright[:, side], np.hanning(7) / np.hanning(7).sum(), "same")
            for side in (0, 1)
        ],
        axis=1,
    )
    tail = dull * 10 ** (-3 * time / DECAY)[:, None] * 2
    tail += bright * 10 ** (-3 * time / (DECAY / 2.5))[:, None]
    tail *= np.minimum(1, np.maximum(0, (time - 0.012) / 0.02))[:, None]
    tail /= np.sqrt((tail**2).sum(axis=0))
    for seconds, left, right in FIRST:
        tail[round(seconds * RATE)] += (left, right)
    # No rumble: the mean of each side is subtracted, and the end fades to nothing.
    tail -= tail.mean(axis=0)
    tail *= np.minimum(1, np.arange(frames, 0, -1) / (0.05 * RATE))[:, None]
    answer: NDArray[np.float64] = tail / np.sqrt((tail**2).sum(axis=0))
    return answer


class Room:
    """The room as a convolution of a mono sound, block by block."""

    def __init__(self) -> None:
        from scipy.fft import next_fast_len, rfft

        answer = response()
        self._size = next_fast_len(BLOCK + len(answer) - 1, real=True)
        self._answer = rfft(answer.astype(np.float32), self._size, axis=0)
        self._tail = np.zeros((self._size, 2), dtype=np.float32)

    def reverberate(self, wave: Wave) -> Stereo:
        """Return the reverberation of a mono block and of those before it, shape (frames, 2)."""
        return np.concatenate(
            [self._block(wave[at : at + BLOCK]) for at in range(0, len(wave), BLOCK)]
            or [np.zeros((0, 2), dtype=np.float32)]
        )

    def _block(self, wave: Wave) -> Stereo:
        from scipy.fft import irfft, rfft

        if wave.any():
            spectrum = rfft(wave.astype(np.float32), self._size)
            self._tail += irfft(spectrum[:, None] * self._answer, self._size, axis=0)
        ready = self._tail[: len(wave)].copy()
        self._tail[: -len(wave)] = self._tail[len(wave) :]
        self._tail[-len(wave) :] = 0
        return ready
