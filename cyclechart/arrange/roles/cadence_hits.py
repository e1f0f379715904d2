"""Where a cadence comes to: the last stroke of each statement, which the band hits at once."""

from __future__ import annotations

from fractions import Fraction

from cyclechart.arrange.timeline import Placed, Timeline


def cadence_hits(timeline: Timeline) -> tuple[Fraction, ...]:
    """The last strokes of all statements of all cadences, in beats of the timeline."""
    return tuple(sorted({at for placed in timeline.placed for at in _of(placed)}))


def _of(placed: Placed) -> list[Fraction]:
    found = []
    for cadence in placed.line.cadences:
        for begin, end in cadence.statements:
            struck = [
                note
                for note in placed.line.notes
                if cadence.start + begin <= note.start < cadence.start + end
            ]
            at = placed.at(struck[-1]) if struck else None
            if at is not None and (placed.until is None or at < placed.until):
                found.append(at)
    return found
