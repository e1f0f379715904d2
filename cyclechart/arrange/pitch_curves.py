"""Curves of pitch: points (beats from a sound's start, semitones) joined by straight lines."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

Curve = tuple[tuple[Fraction, float], ...]


def mean_of(times: Sequence[float], values: Sequence[float]) -> float:
    """Return the mean over time of straight lines through points."""
    lines = zip(pairwise(times), pairwise(values), strict=True)
    area = sum((end - start) * (low + high) / 2 for (start, end), (low, high) in lines)
    return area / (times[-1] - times[0])


def with_mean(
    times: Sequence[float], values: Sequence[float], weights: Sequence[float], mean: float
) -> list[float]:
    """Return values moved in proportion to their ``weights`` so that their mean over time is
    exactly ``mean``; those of weight 0 stay."""
    share = mean_of(times, weights)
    if not share:
        return list(values)
    by = (mean - mean_of(times, values)) / share
    return [value + by * weight for value, weight in zip(values, weights, strict=True)]
