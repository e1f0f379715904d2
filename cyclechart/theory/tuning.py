"""Tuning of the twelve tones against Sa: ratios where they are exact, cents where given so."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

JUST: tuple[Fraction, ...] = tuple(
    Fraction(ratio)
    for ratio in [
        "1",
        "16/15",
        "9/8",
        "6/5",
        "5/4",
        "4/3",
        "45/32",
        "3/2",
        "8/5",
        "5/3",
        "9/5",
        "15/8",
    ]
)
"""Five-limit twelve over a Sa–Pa drone. D and n have other published values (27/16, 16/9)."""

A4_MIDI, A4_HZ = 69, 440.0


@dataclass(frozen=True, slots=True)
class Tuning:
    """``name`` is just, equal or own; ``cents`` are twelve sizes above Sa, in cents."""

    name: str
    cents: tuple[float, ...]

    def bend(self, pitch: int) -> float:
        """Cents by which the tone of a pitch differs from twelve equal steps."""
        return self.cents[pitch % 12] - 100 * (pitch % 12)

    def above_sa(self, pitch: int) -> float:
        """Cents from the middle Sa to a pitch."""
        return self.cents[pitch % 12] + 1200 * (pitch // 12)

    def interval(self, start: int, end: int) -> float:
        """Semitones (100 cents each) from one tuned pitch to another, negative downwards."""
        return (self.above_sa(end) - self.above_sa(start)) / 100


def ratio_cents(ratio: Fraction) -> float:
    """The size of a frequency ratio in cents."""
    return 1200 * math.log2(ratio)


EQUAL = Tuning("equal", tuple(100.0 * step for step in range(12)))
JUST_TUNING = Tuning("just", tuple(ratio_cents(ratio) for ratio in JUST))


def own_tuning(values: Mapping[int, Fraction | float]) -> Tuning:
    """The just tuning with some tones (0 to 11) replaced by a ratio (Fraction) or cents (float)."""
    cents = list(JUST_TUNING.cents)
    for semitone, value in values.items():
        cents[semitone] = ratio_cents(value) if isinstance(value, Fraction) else value
    return Tuning("own", tuple(cents))
