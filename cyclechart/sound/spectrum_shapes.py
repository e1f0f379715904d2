"""What spectra are made of: low-passes, resonances and the nodes of a plucked string, in dB."""

from __future__ import annotations

import math
from collections.abc import Callable

Rule = Callable[[int, float, float], float]
"""The level in dB of (partial from 1, hz of partial 1, brightness)."""


def between(low: float, high: float, part: float) -> float:
    """Return the frequency at a part, from 0 to 1, of the octaves from ``low`` to ``high``."""
    return low * math.pow(high / low, part)


def low_pass(hz: float, corner: float, slope: float) -> float:
    """Return a low-pass in dB: 0 well below the corner, falling ``slope`` dB an octave above."""
    return -10 * math.log10(1 + math.pow(hz / corner, slope / (10 * math.log10(2))))


def resonance(hz: float, centre: float, height: float, octaves: float) -> float:
    """Return a resonance in dB: ``height`` at its centre, falling as a bell over ``octaves``."""
    return height * math.exp(-((math.log2(hz / centre) / octaves) ** 2) / 2)


def pluck_level(partial: int, place: float, floor: float) -> float:
    """Return the level in dB of a string's partial: one with a node at the pluck is missing.

    Young, 1800. ``floor``: a finger has width and a string two directions.
    """
    return 20 * math.log10(max(floor, abs(math.sin(math.pi * partial * place))))
