"""The strokes and the spoken count of a cycle as text, beat by beat."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import lcm

from cyclechart.arrange.roles.spoken_count import spoken_count
from cyclechart.arrange.roles.theka import ThekaStroke, theka
from cyclechart.theory.cycle import Cycle

FINEST = 36
"""The most parts of a beat that are written out."""


def beat_strokes(cycle: Cycle) -> list[tuple[Fraction, str]]:
    """Return (offset, strokes) for each beat of the cycle; ``-`` stands for a held beat or part.

    Beats are counted from the start of their section: a section that ends in a half beat has a
    short beat there. Uneven strokes have a ``-`` for each part that is held.
    """
    return _rows(cycle, theka(cycle))


def beat_counts(cycle: Cycle) -> list[tuple[Fraction, str]]:
    """Return (offset, spoken syllables) for each beat of the cycle, written as its strokes are."""
    return _rows(cycle, spoken_count(cycle))


def is_counted(cycle: Cycle) -> bool:
    """Return whether the spoken count is something other than the strokes of the drums."""
    return cycle.southern and spoken_count(cycle) != theka(cycle)


def _rows(cycle: Cycle, pattern: Sequence[ThekaStroke]) -> list[tuple[Fraction, str]]:
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
