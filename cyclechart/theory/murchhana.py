"""A set of tones taken from another of them as Sa (murchhana; in the South grahabhedam)."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from cyclechart.theory.mode import Mode
from cyclechart.theory.ways import Step


def from_tone(tones: Collection[int], tone: int) -> frozenset[int]:
    """Return some tones as they are called with one of them as Sa."""
    return frozenset((other - tone) % 12 for other in tones)


def murchhanas(tones: Collection[int]) -> Iterator[tuple[int, frozenset[int]]]:
    """Yield each tone but Sa, from Sa up, and all of them as they are called from there."""
    for tone in sorted({other % 12 for other in tones} - {0}):
        yield tone, from_tone(tones, tone)


def moves_apart(mode: Mode, tone: int, other: Mode) -> int:
    """Return by how many straight moves another mode differs from a mode taken from a tone."""
    ours, theirs = mode.moves, other.moves
    up = _taken_from(ours.straight_up, tone) ^ theirs.straight_up
    down = _taken_from(ours.straight_down, tone) ^ theirs.straight_down
    return len(up) + len(down)


def _taken_from(steps: Collection[Step], tone: int) -> frozenset[Step]:
    return frozenset(((start - tone) % 12, by) for start, by in steps)
