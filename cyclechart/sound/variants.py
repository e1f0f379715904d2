"""The variants of a stroke: no hand strikes the same place twice with the same force.

Each differs a little from the model in the levels of its partials (the place on the head), in the
hardness of the contact and in its noise. The partials move by a cent or two, for the tuning is the
drum's and not the hand's. Variant 0 is the model itself.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cyclechart.sound.resonance import Floats

VARIANTS = 4
"""The renderings of each stroke."""
PLACE_DB = 1.5
"""dB by which the level of a partial differs at most."""
MOST_CENTS = 1.5
"""Cents by which a partial differs at most."""
HARDNESS = 0.05
"""The part of full force by which the contact is harder or softer at most."""


@dataclass(frozen=True, slots=True)
class Variant:
    """One rendering of a stroke; ``stroke`` tells the strokes of one hand apart."""

    number: int = 0
    stroke: int = 0

    def seed(self, seed: int) -> int:
        """Return the seed of a noise in this variant."""
        return seed + 1000 * self.number

    def decibels(self, count: int) -> Floats:
        """Return the difference in level of each of so many partials, in dB."""
        return PLACE_DB * self._differences(count, 1)

    def ratios(self, count: int) -> Floats:
        """Return the factor on the frequency of each of so many partials."""
        result: Floats = 2 ** (MOST_CENTS * self._differences(count, 2) / 1200)
        return result

    def hardness(self, hard: float) -> float:
        """Return the hardness of the contact at a force of 0 to 1."""
        return hard * (1 + HARDNESS * float(self._differences(1, 3)[0]))

    def _differences(self, count: int, kind: int) -> Floats:
        """Return numbers from -1 to 1: 0 for the model."""
        if not self.number:
            return np.zeros(count)
        random = np.random.RandomState([self.number, self.stroke, kind])
        return np.asarray(random.uniform(-1, 1, count), float)


def checked_variant(number: int, stroke: int) -> Variant:
    """Return a variant of a stroke. ValueError for a number that no variant has."""
    if not 0 <= number < VARIANTS:
        raise ValueError(f"A stroke has the variants 0 to {VARIANTS - 1}, not {number}.")
    return Variant(number, stroke)
