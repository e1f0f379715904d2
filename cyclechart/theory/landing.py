"""Where a line stands in its cycle: pickup and body, landing and looping, where it hands over.

Every position is in beats from the first beat of the cycle the line begins in.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

Shape = Literal["lands", "loops", "early", "late", "misses", "empty"]

NEAR = Fraction(1)
"""Within so many beats of a first beat a last stroke is anagat or atit, not a miss."""


@dataclass(frozen=True, slots=True)
class Standing:
    """``first`` is the position of the line's first first beat (its body begins there);
    ``last`` of its last struck note, ``end`` of its written end; ``short`` and ``over`` are the
    beats from the last stroke to the next first beat and from the one before.
    """

    shape: Shape
    begin: Fraction
    first: Fraction
    last: Fraction
    end: Fraction
    short: Fraction
    over: Fraction
    hands_over: Fraction

    @property
    def pickup(self) -> Fraction:
        """Beats before the first first beat."""
        return self.first - self.begin


def stand(
    onsets: tuple[Fraction, ...], length: Fraction, begins: Fraction, beats: Fraction
) -> Standing:
    """How a line with these onsets (from its beginning) and length stands in a cycle.

    ``begins`` is the beat (from 1) on which it begins, ``beats`` the cycle's length.
    """
    begin = begins - 1
    end = begin + length
    first = _ceil(begin, beats)
    if not onsets:
        return Standing(
            "empty", begin, first, begin, end, Fraction(0), Fraction(0), _ceil(end, beats)
        )
    last = begin + onsets[-1]
    over = last % beats
    short = (-last) % beats
    body = end - first
    whole = body > 0 and (body % beats == 0 or length % beats == 0)
    loops = whole and any(begin + onset == first for onset in onsets)
    if over == 0:
        shape: Shape = "lands"
    elif loops:
        shape = "loops"
    elif short <= NEAR and short <= over:
        shape = "early"
    elif over <= NEAR:
        shape = "late"
    elif short <= NEAR:
        shape = "early"
    else:
        shape = "misses"
    return Standing(
        shape, begin, first, last, end, short, over, _hand_over(shape, last, end, short, beats)
    )


def _hand_over(
    shape: Shape, last: Fraction, end: Fraction, short: Fraction, beats: Fraction
) -> Fraction:
    aim = {"lands": last, "early": last + short}.get(shape)
    if aim is None or end < aim:
        return _ceil(end, beats) if aim is None else aim
    if end - aim >= beats:
        return end // beats * beats
    return aim


def _ceil(position: Fraction, beats: Fraction) -> Fraction:
    return -(-position // beats) * beats
