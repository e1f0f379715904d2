"""The sample rate and the types of all waveforms."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

RATE = 44_100
"""Samples a second."""

Wave: TypeAlias = NDArray[np.float32]
"""Mono samples, shape (frames,), full scale ±1; computed in float64, stored in float32."""

Stereo: TypeAlias = NDArray[np.float32]
"""Samples of two channels, shape (frames, 2)."""
