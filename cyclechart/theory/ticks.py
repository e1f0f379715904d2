"""The tick grid of a MIDI file: the smallest one on which every onset of a piece is exact."""

from __future__ import annotations

import math
from collections.abc import Iterable
from fractions import Fraction

COARSEST = 480
FINEST = 32767
"""Standard MIDI Files 1.0: ticks per quarter note stand in bits 14 to 0 of the division."""


def grid_for(denominators: Iterable[int]) -> tuple[int, list[int]]:
    """Ticks a beat for these denominators, and those of them that it cannot hold exactly.

    The smallest multiple of their common denominator from 480 up, at most 32767. Where there is
    none, the coarser denominators are held and the others named.
    """
    common = 1
    lost = []
    for denominator in sorted(set(denominators)):
        together = math.lcm(common, denominator)
        if together <= FINEST:
            common = together
        else:
            lost.append(denominator)
    wanted = COARSEST if not lost else FINEST - common + 1
    return -(-wanted // common) * common, lost


def to_tick(time: Fraction, ticks: int) -> int:
    """The tick of a time in beats, or the nearest one (a half goes up)."""
    numerator = time.numerator * ticks
    whole, rest = divmod(numerator, time.denominator)
    return whole if 2 * rest < time.denominator else whole + 1


def largest_error(times: Iterable[Fraction], ticks: int) -> Fraction:
    """Return the distance in beats of the worst of these times from its tick."""
    return max(
        (abs(Fraction(to_tick(time, ticks), ticks) - time) for time in times), default=Fraction(0)
    )
