"""Where each bar, as it is played, stands in a part: in which strain, and from where on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

Knot = tuple[Fraction, Fraction]
"""Beats on paper and beats played, both from the beginning of a bar."""


@dataclass(frozen=True, slots=True)
class BarPlace:
    """Where a bar as it is played stands: in which strain (from 0), and where it begins in that.

    ``knots``: how far paper and playing are at some places, joined by straight lines; the two
    differ in a free passage alone.
    """

    strain: int
    at: Fraction
    knots: tuple[Knot, ...]

    @property
    def end(self) -> Fraction:
        """Where it ends in its strain."""
        return self.at + self.knots[-1][0]

    def played(self, place: Fraction) -> Fraction:
        """Beats from the bar's beginning to a place of the strain within it."""
        paper = place - self.at
        for (before, since), (after, until) in pairwise(self.knots):
            if paper <= after:
                return since + (paper - before) * (until - since) / (after - before)
        return self.knots[-1][1]


def metered_place(strain: int, at: Fraction, length: Fraction) -> BarPlace:
    """The place of a bar that is on paper as long as it is played."""
    return BarPlace(strain, at, ((Fraction(0), Fraction(0)), (length, length)))


def free_knots(
    note_starts: Iterable[Fraction], paper: Fraction, played: Fraction
) -> tuple[Knot, ...]:
    """The knots of a free bar that is ``paper`` beats long on paper and ``played`` beats in time.

    What begins at one of the ``begun`` has the time that it has; the last of them and what stands
    beside it are spread over the rest.
    """
    starts = sorted({Fraction(0), *note_starts})
    return (*((start, start) for start in starts if start < paper), (paper, played))
