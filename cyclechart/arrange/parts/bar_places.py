"""The places of played bars in a part: the strain, and the beat within it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

Knot = tuple[Fraction, Fraction]
"""Beats on paper and beats played, both from the beginning of a bar."""


@dataclass(frozen=True, slots=True)
class BarPlace:
    """The place of a played bar: the index of its strain, and its start there in beats.

    ``knots`` relate beats on paper to beats played, with straight lines between them; the two only
    differ in a free passage.
    """

    strain: int
    at: Fraction
    knots: tuple[Knot, ...]

    @property
    def end(self) -> Fraction:
        """The end in its strain, in beats."""
        return self.at + self.knots[-1][0]

    def played(self, place: Fraction) -> Fraction:
        """Return the beats played from the bar's start to a place of the strain within the bar."""
        paper = place - self.at
        for (before, since), (after, until) in pairwise(self.knots):
            if paper <= after:
                return since + (paper - before) * (until - since) / (after - before)
        return self.knots[-1][1]


def metered_place(strain: int, at: Fraction, length: Fraction) -> BarPlace:
    """Return the place of a bar that is as long on paper as it is played."""
    return BarPlace(strain, at, ((Fraction(0), Fraction(0)), (length, length)))


def free_knots(
    note_starts: Iterable[Fraction], paper: Fraction, played: Fraction
) -> tuple[Knot, ...]:
    """Return the knots of a free bar of ``paper`` beats on paper and ``played`` beats in time.

    Up to the last of the ``note_starts`` a beat on paper is a beat in time; the remaining paper is
    spread over the remaining time.
    """
    starts = sorted({Fraction(0), *note_starts})
    return (*((start, start) for start in starts if start < paper), (paper, played))
