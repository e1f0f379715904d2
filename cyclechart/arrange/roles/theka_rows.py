"""The strokes of a cycle beat by beat, as a row of text."""

from __future__ import annotations

from fractions import Fraction
from math import lcm

from cyclechart.arrange.roles.theka import theka
from cyclechart.theory.cycle import Cycle

FINEST = 36
"""Parts of a beat that are still written out, held ones among them."""


def beat_strokes(cycle: Cycle) -> list[tuple[Fraction, str]]:
    """Each beat of the cycle (its offset) and what is struck in it, a held beat as ``-``.

    Beats are counted anew from each section: one that ends in a half beat has a short beat there.
    A beat whose strokes are not even has a ``-`` for each part that is held.
    """
    pattern = theka(cycle)
    rows = []
    for _, offset, length in cycle.walk():
        struck = {
            (beat.at - offset) / length: beat.syllable
            for beat in pattern
            if offset <= beat.at < offset + length
        }
        parts = lcm(*(place.denominator for place in struck))
        if parts > FINEST:
            text = "".join(struck.values())
        else:
            text = "".join(struck.get(Fraction(part, parts), "-") for part in range(parts))
        rows.append((offset, text))
    return rows
