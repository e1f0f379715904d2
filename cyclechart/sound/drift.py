"""Slow random change, as of breath, bow or string: the same each time for the same note."""

from __future__ import annotations

import math

import numpy as np

from cyclechart.sound.wavetable import Floats

WAVES = 3
"""Sines that make up one course of change: with rates of no common measure it never repeats."""
WAYS = 4
"""Independent courses of change that the partials share, each partial in a mixture of its own."""


def courses(seed: int, count: int, seconds: Floats, rate: float) -> Floats:
    """Return ``count`` independent courses at some times, shape (count, times): mean 0, RMS 1.

    Each is a sum of three slow sines of random rates about ``rate`` Hz and random phases, so that
    it is bounded (by 2.45) and smooth.
    """
    # NumPy promises that the numbers of its old generator never change (NEP 19).
    numbers = np.random.RandomState(seed % (1 << 32)).uniform(size=(2, count, WAVES, 1))
    rates = rate * (0.4 + 1.2 * numbers[0])
    sines = np.sin(2 * np.pi * (rates * seconds + numbers[1]))
    found: Floats = math.sqrt(2 / WAVES) * sines.sum(axis=1)
    return found


def _mixtures() -> Floats:
    """Return the share of each way in each partial: unit vectors, shape (partials, WAYS)."""
    shares = np.random.RandomState(11).normal(size=(1024, WAYS))
    found: Floats = shares / np.sqrt(np.sum(shares**2, axis=1, keepdims=True))
    return found


MIXTURES = _mixtures()
