"""True peaks (those between the samples, too), and a gain that keeps them under a ceiling."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cyclechart.sound.rate import RATE, Stereo

CEILING_DB = -1.0
"""True peak, in dBTP: what streaming and broadcasting commonly ask for (EBU
R 128 s1, AES TD1008)."""
MARGIN_DB = 0.1
"""Held below the ceiling, for the true peak is measured with a finite filter."""
OVERSAMPLED = 8
"""ITU-R BS.1770-4, annex 2, asks for four times at least, which miss a quarter of a dB of what is
near half the rate."""
LEAD = RATE // 16
"""Frames over which the gain goes down before a peak and comes back after it (62 ms)."""
REACH = 12
"""Frames on either side that the oversampling filter reads."""
BORDER = 2 * LEAD + 2 * REACH
"""Frames of its neighbours that a block needs."""
NEAR = 10 ** (-3 / 20)
"""Where no sample comes within 3 dB of the ceiling, none between the samples reaches it."""


def ceiling() -> float:
    """Return the highest true peak allowed, as a factor of full scale."""
    return float(10 ** ((CEILING_DB - MARGIN_DB) / 20))


def true_peaks(block: Stereo) -> NDArray[np.float64]:
    """Return the highest peak around each frame, either channel, shape (frames,)."""
    from scipy.signal import resample_poly

    if not len(block):
        return np.zeros(0)
    finer: NDArray[np.float64] = np.abs(resample_poly(block, OVERSAMPLED, 1, axis=0)).max(axis=1)
    held: NDArray[np.float64] = finer.reshape(len(block), OVERSAMPLED).max(axis=1)
    # What peaks between two frames counts for both.
    either: NDArray[np.float64] = np.maximum(held, np.concatenate([held[:1], held[:-1]]))
    return either


def _high_peaks(block: Stereo, most: float) -> NDArray[np.float64] | None:
    """Return the true peaks around frames that come near ``most``, 0 elsewhere; None for none."""
    from scipy.ndimage import binary_dilation

    near = np.abs(block).max(axis=1, initial=0) >= most * NEAR
    if not near.any():
        return None
    # Leaving frames out makes jumps, but none nearer to a peak than the filter reaches.
    kept = binary_dilation(near, iterations=REACH)
    peaks = np.zeros(len(block))
    peaks[kept] = true_peaks(block[kept])
    peaks[~binary_dilation(near)] = 0
    return peaks


def limiting_gains(block: Stereo, most: float) -> NDArray[np.float64] | None:
    """Return gains that keep every true peak of a block at or under ``most``; None for none over.

    Shape (frames,), 1 wherever nothing near is too loud. A block has to come with ``BORDER`` frames
    of its neighbours on both sides, and the gains of those are not to be used.
    """
    from scipy.ndimage import minimum_filter1d
    from scipy.signal import oaconvolve

    peaks = _high_peaks(block, most)
    if peaks is None or peaks.max() <= most:
        return None
    needed = np.minimum(1.0, most / np.maximum(peaks, most))
    # The mean of minima that each hold within reach of a peak is never above what it needs.
    held = minimum_filter1d(needed, 2 * LEAD + 1, mode="nearest")
    window = np.hanning(2 * LEAD + 3)[1:-1]
    padded = np.pad(held, LEAD, mode="edge")
    smooth: NDArray[np.float64] = oaconvolve(padded, window / window.sum(), "valid")
    return np.minimum(smooth, 1.0)
