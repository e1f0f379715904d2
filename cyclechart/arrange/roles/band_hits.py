"""What the whole band hits together: the last stroke of each statement of a cadence, and the hits
that a step asks for.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from cyclechart.arrange.timeline import PlacedLine, Timeline
from cyclechart.piece.player import Player
from cyclechart.piece.steps import hits_along

LONGEST = Fraction(1)
"""The most beats that a hit of a cadence rings for."""


class BandHit(NamedTuple):
    """A hit: its start and its longest length in beats of the timeline."""

    at: Fraction
    length: Fraction


def band_hits(timeline: Timeline, player: Player) -> tuple[BandHit, ...]:
    """Return what a player hits with the band, in order of time; one hit at a time."""
    hits = dict.fromkeys(cadence_hits(timeline), LONGEST)
    hits |= {hit.at: hit.length for hit in written_hits(timeline, player)}
    return tuple(BandHit(at, hits[at]) for at in sorted(hits))


def written_hits(timeline: Timeline, player: Player) -> tuple[BandHit, ...]:
    """Return what steps ask a player to hit with the band, in order of time."""
    return tuple(
        BandHit(hit.at, hit.length) for hit in timeline.hits if hits_along(hit.players, player)
    )


def stop_times(timeline: Timeline, player: Player) -> list[tuple[Fraction, Fraction]]:
    """Return from where to where (beats) a player plays nothing but hits."""
    return [(stop.start, stop.end) for stop in timeline.stops if hits_along(stop.players, player)]


def cadence_hits(timeline: Timeline) -> tuple[Fraction, ...]:
    """Return the times of the last strokes of all statements, in beats of the timeline, sorted."""
    return tuple(sorted({at for placed in timeline.placed_lines for at in _line_hits(placed)}))


def _line_hits(placed: PlacedLine) -> Iterator[Fraction]:
    for cadence in placed.line.cadences:
        for begin, end in cadence.statements:
            struck = [
                note
                for note in placed.line.notes
                if cadence.start + begin <= note.start < cadence.start + end
            ]
            at = placed.start_of(struck[-1]) if struck else None
            if at is not None and (placed.until is None or at < placed.until):
                yield at
