"""The hits that the steps of a form ask for, placed in time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby

from cyclechart.arrange.timeline import PlacedLine, StopTime, Stretch, WrittenHit
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Step

LONGEST = Fraction(2)
"""The most beats that a hit rings for."""


def hits_and_stops(
    piece: Piece, stretches: Sequence[Stretch], placed_lines: Sequence[PlacedLine]
) -> tuple[tuple[WrittenHit, ...], tuple[StopTime, ...]]:
    """Return the hits of all steps in order of time, and the runs of stop-time."""
    hits: list[WrittenHit] = []
    stops: list[StopTime] = []
    metered = [one for one in stretches if one.kind == "metered" and one.end > one.start]
    for number, run in groupby(metered, key=lambda stretch: stretch.step):
        asked = piece.steps[number].directions.hits if number >= 0 else None
        if asked is None:
            continue
        of_step = list(run)
        start, end = of_step[0].start, of_step[-1].end
        if asked.line:
            line = piece.line_in(asked.line, piece.steps[number].cycle)
            struck = _rounds(line, piece.steps[number], start, end)
        else:
            struck = _accents(placed_lines, of_step)
        hits += [WrittenHit(at, length, asked.by) for at, length in struck]
        if asked.stops:
            stops.append(StopTime(start, end, asked.by))
    return tuple(sorted(hits)), tuple(stops)


def _rounds(
    line: Line, step: Step, start: Fraction, end: Fraction
) -> Iterator[tuple[Fraction, Fraction]]:
    """Yield start and length of the strokes of a line, round after round from a step's first beat
    to its end."""
    offset, advance = Fraction(0), line.length
    if not line.free:
        offset, advance = line.standing(step.cycle).offset, line.round_in(step.cycle)
    base = start
    while base < end:
        for note in line.notes:
            at = base + offset + note.start
            # The landing of a round is the first beat of the next.
            if start <= at < end and at < base + advance:
                yield at, min(note.length, LONGEST, end - at)
        base += advance


def _accents(
    placed_lines: Sequence[PlacedLine], of_step: Sequence[Stretch]
) -> Iterator[tuple[Fraction, Fraction]]:
    """Yield start and length of the accented notes that a step's own lines have in it."""
    start, end = of_step[0].start, of_step[-1].end
    found: dict[Fraction, Fraction] = {}
    for placed in placed_lines:
        if start <= placed.body_start < end or start <= placed.start < end:
            for _, note, at, length in placed.sounding_notes():
                if "accent" in note.marks and start <= at <= end:
                    found[at] = max(found.get(at, Fraction(0)), min(length, LONGEST))
    yield from found.items()
