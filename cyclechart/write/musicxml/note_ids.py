"""The ids of written notes: each part of what is tied is one by itself.

A note's id is ``n-A-12``: the strain's letter and the note's index in it; what is tied to it has
``n-A-12-2`` and so on, its grace notes ``n-A-12-g1``. In a score they have the part's number before
them: ``p3-n-A-12``.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from cyclechart.arrange.sheet.model import Strain
from cyclechart.write.musicxml.rhythm import WrittenValue, spell_measure
from cyclechart.write.musicxml.staff import MeasureContent, measure_contents, ticks_per_beat


class NoteIds:
    """The ids of the notes of one strain, asked for piece after piece in the order written."""

    def __init__(self, letter: str, part: int = 0) -> None:
        """``part``: the number of the part in a score, 0 where there is one alone."""
        self.prefix = f"p{part}-n-{letter}-" if part else f"n-{letter}-"
        self.index = -1
        """The note of the piece asked for last."""
        self.number = 1
        """Which piece of that it was."""

    def next(self, index: int) -> str:
        """The id of the next piece, which is of the note of an index."""
        self.number = self.number + 1 if index == self.index else 1
        self.index = index
        return f"{self.prefix}{index}" + (f"-{self.number}" if self.number > 1 else "")

    def grace(self, index: int, number: int) -> str:
        """The id of a grace note (from 1) of a note."""
        return f"{self.prefix}{index}-g{number}"


def written_values(filled: MeasureContent, beat: int) -> Iterator[tuple[WrittenValue, int]]:
    """The written pieces of a measure that is not silent, each with its note's index; −1 for a
    rest."""
    pieces = spell_measure(beat, filled.length, filled.lead, filled.bounds, filled.rests)
    for piece in pieces:
        yield piece, filled.indices[piece.span]


class WrittenNote(NamedTuple):
    """A written note: from where to where in its strain, in exact beats, and its id."""

    start: Fraction
    end: Fraction
    name: str


def written_notes(strain: Strain) -> list[WrittenNote]:
    """Every written note of a strain that is engraved alone, in order, grace notes apart."""
    beat = ticks_per_beat([strain])
    ids = NoteIds(strain.letter)
    found: list[WrittenNote] = []
    for measure, filled in zip(strain.measures, measure_contents(strain, beat), strict=True):
        if filled.rests == (True,) or measure.rests:
            continue
        for piece, index in written_values(filled, beat):
            if index >= 0:
                start = measure.start + Fraction(piece.start, beat)
                end = start + Fraction(piece.length, beat)
                found.append(WrittenNote(start, end, ids.next(index)))
    return found
