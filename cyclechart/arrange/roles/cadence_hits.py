"""Cadence hits: the last stroke of each statement of a cadence, which the whole band plays."""

from __future__ import annotations

from fractions import Fraction

from cyclechart.arrange.timeline import PlacedLine, Timeline


def cadence_hits(timeline: Timeline) -> tuple[Fraction, ...]:
    """Return the times of the last strokes of all statements, in beats of the timeline, sorted."""
    return tuple(sorted({at for placed in timeline.placed_lines for at in _line_hits(placed)}))


def _line_hits(placed: PlacedLine) -> list[Fraction]:
    hits = []
    for cadence in placed.line.cadences:
        for begin, end in cadence.statements:
            struck = [
                note
                for note in placed.line.notes
                if cadence.start + begin <= note.start < cadence.start + end
            ]
            at = placed.start_of(struck[-1]) if struck else None
            if at is not None and (placed.until is None or at < placed.until):
                hits.append(at)
    return hits
