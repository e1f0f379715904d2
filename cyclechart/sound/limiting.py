"""Limiting: true peaks (between the samples, too), and gains that keep them under a ceiling."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cyclechart.sound.rate import RATE, Stereo, Wave

CEILING_DB = -1.0
"""True peak, in dBTP: the usual limit of streaming and broadcasting (EBU R 128 s1, AES TD1008)."""
MARGIN_DB = 0.1
"""dB kept free below the ceiling: the filter that measures true peaks is finite."""
OVERSAMPLED = 8
"""The factor of oversampling. ITU-R BS.1770-4, annex 2, asks for four at least, which misses a
quarter of a dB near half the rate."""
LEAD = RATE // 16
"""Frames over which the gain goes down before a peak and comes back after it (62 ms)."""
REACH = 12
"""Frames on either side that the oversampling filter reads."""
BORDER = 2 * LEAD + 2 * REACH
"""Frames that a block needs of each of its neighbours."""
NEAR = 10 ** (-3 / 20)
"""A factor of 3 dB: where no sample is this near the ceiling, no true peak reaches it."""


def ceiling() -> float:
    """Return the highest true peak allowed, as a factor of full scale."""
    return float(10 ** ((CEILING_DB - MARGIN_DB) / 20))


def true_peaks(block: Stereo) -> NDArray[np.float64]:
    """Return the highest peak around each frame, either channel, shape (frames,)."""
    from scipy.signal import resample_poly

    if not len(block):
        return np.zeros(0)
    finer = louder_side(resample_poly(block, OVERSAMPLED, 1, axis=0))
    by_frame: NDArray[np.float64] = finer.reshape(len(block), OVERSAMPLED).max(axis=1)
    # A peak between two frames counts for both.
    either: NDArray[np.float64] = np.maximum(
        by_frame, np.concatenate([by_frame[:1], by_frame[:-1]])
    )
    return either


def _high_peaks(block: Stereo, most: float) -> NDArray[np.float64] | None:
    """Return the true peaks around frames that come near ``most``, 0 elsewhere; None for none."""
    near = louder_side(block) >= most * NEAR
    if not near.any():
        return None
    # Frames left out make jumps, but none within reach of the filter at a peak.
    read = _spread(near, REACH)
    peaks = np.zeros(len(block))
    peaks[read] = true_peaks(block[read])
    peaks[~_spread(near, 1)] = 0
    return peaks


def louder_side(block: Stereo) -> Wave:
    """Return the size of each frame: of its louder channel."""
    # Both channels of a frame at once are ten times as slow as a channel after the other.
    louder: Wave = np.maximum(np.abs(block[:, 0]), np.abs(block[:, 1]))
    return louder


def _spread(near: NDArray[np.bool_], frames: int) -> NDArray[np.bool_]:
    """Return what is True, and so many frames on either side of it."""
    from scipy.ndimage import maximum_filter1d

    filtered: NDArray[np.uint8] = maximum_filter1d(
        near.view(np.uint8), 2 * frames + 1, mode="constant"
    )
    return filtered.view(np.bool_)


def limiting_gains(block: Stereo, most: float) -> NDArray[np.float64] | None:
    """Return gains that keep every true peak of a block at or under ``most``; None for none over.

    Shape (frames,), 1 wherever nothing near is too loud. The block has to include ``BORDER``
    frames of its neighbours on both sides, whose gains must not be used.
    """
    from scipy.ndimage import minimum_filter1d
    from scipy.signal import oaconvolve

    peaks = _high_peaks(block, most)
    if peaks is None or peaks.max() <= most:
        return None
    needed = np.minimum(1.0, most / np.maximum(peaks, most))
    # Minima over the reach of a peak: their mean is never above the gain that the peak needs.
    lowest = minimum_filter1d(needed, 2 * LEAD + 1, mode="nearest")
    window = np.hanning(2 * LEAD + 3)[1:-1]
    padded = np.pad(lowest, LEAD, mode="edge")
    smooth: NDArray[np.float64] = oaconvolve(padded, window / window.sum(), "valid")
    return np.minimum(smooth, 1.0)
