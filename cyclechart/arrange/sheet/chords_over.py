"""The chords over a melody of a lead sheet: those of a line of chords that a step plays with it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from cyclechart.arrange.sheet.road_map import LinePlace, line_places
from cyclechart.piece.model import Line, Piece
from cyclechart.theory.chord_symbols import ChordSymbol
from cyclechart.theory.cycle import Cycle


def chords_over(
    piece: Piece, place: LinePlace, end: Fraction
) -> tuple[tuple[Fraction, ChordSymbol], ...]:
    """Return the chords over a melody with their beats from its first beat up to ``end``: those of
    the first step that plays it together with a line of chords; () where none does."""
    name, cycle, _ = place
    if piece.lines[name].kind != "melody" or piece.lines[name].free:
        return ()
    for step in piece.steps:
        if place not in line_places(piece, step):
            continue
        others = [piece.line_in(other, step.cycle) for other in step.uses if other in piece.lines]
        chords = next((one for one in others if one.kind == "chords" and not one.free), None)
        if chords is not None:
            return tuple(_chords_until(chords, cycle, end))
    return ()


def _chords_until(
    line: Line, cycle: Cycle, end: Fraction
) -> Iterator[tuple[Fraction, ChordSymbol]]:
    """Yield the chords of a line that goes round if it loops, without its pickup."""
    standing = line.standing(cycle)
    round_length = max(standing.hands_over - standing.first, cycle.beats)
    base = Fraction(0)
    while base < end:
        for note in line.notes:
            at = base + standing.offset + note.start
            if base <= at < end and note.chord is not None:
                yield at, note.chord
        if standing.shape != "loops":
            return
        base += round_length
