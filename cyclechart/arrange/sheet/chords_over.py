"""The chords over a melody of a lead sheet: those of a line of chords that a step plays with it or
has beneath it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import cycle as endless

from cyclechart.arrange.sheet.road_map import LinePlace, line_places
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.theory.chord_symbols import ChordSymbol
from cyclechart.theory.cycle import Cycle


def chords_over(
    piece: Piece, place: LinePlace, end: Fraction
) -> tuple[tuple[Fraction, ChordSymbol], ...]:
    """Return the chords over a melody with their beats from its first beat up to ``end``: those of
    the first step that plays it together with, or over, lines of chords; () where none does."""
    name, cycle, _ = place
    if piece.lines[name].kind != "melody" or piece.lines[name].free:
        return ()
    for step in piece.steps:
        if place not in line_places(piece, step):
            continue
        others = [piece.line_in(other, step.cycle) for other in step.uses if other in piece.lines]
        own = [one for one in others if _is_changes(one)][:1]
        if own:
            rounds = own if own[0].standing(cycle).shape != "loops" else endless(own)
            return tuple(_chords_until(rounds, cycle, end))
        below = ([piece.line_in(name, step.cycle) for name in one.lines] for one in step.under)
        changes = next((lines for lines in below if all(map(_is_changes, lines))), None)
        if changes is not None:
            return tuple(_chords_until(endless(changes), cycle, end))
    return ()


def _is_changes(line: Line) -> bool:
    """Return whether a line has chords and keeps to the cycle."""
    return line.kind == "chords" and not line.free


def _chords_until(
    rounds: Iterable[Line], cycle: Cycle, end: Fraction
) -> Iterator[tuple[Fraction, ChordSymbol]]:
    """Yield the chords of lines that follow each other, without their pickups, up to an end."""
    base = Fraction(0)
    for line in rounds:
        standing = line.standing(cycle)
        for note in line.notes:
            at = base + standing.offset + note.start
            if base <= at < end and note.chord is not None:
                yield at, note.chord
        base += line.round_in(cycle)
        if base >= end:
            return
