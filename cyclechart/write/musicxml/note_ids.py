"""The ids of written notes: each of the values tied into one note has its own.

A note's id is ``n-A-12``: the strain's letter and the note's index in it. The values tied to it are
``n-A-12-2`` and so on, its grace notes ``n-A-12-g1``. In a score the number of the part comes
first: ``p3-n-A-12``.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from cyclechart.arrange.sheet.model import Strain
from cyclechart.write.musicxml.measure_contents import (
    MeasureContent,
    measure_contents,
    ticks_per_beat,
)
from cyclechart.write.musicxml.rhythm import WrittenValue, spell_measure


class NoteIds:
    """The ids of the notes of one strain, given out in the order in which they are written."""

    def __init__(self, letter: str, part: int = 0) -> None:
        """``part``: the number of the part in a score, 0 where there is one alone."""
        self.prefix = f"p{part}-n-{letter}-" if part else f"n-{letter}-"
        self.index = -1
        """The note that the last id belongs to."""
        self.number = 1
        """The place of the last id among those of its note, from 1."""

    def next(self, index: int) -> str:
        """Return the id of the next written value, which belongs to the note of an index."""
        self.number = self.number + 1 if index == self.index else 1
        self.index = index
        return f"{self.prefix}{index}" + (f"-{self.number}" if self.number > 1 else "")

    def grace(self, index: int, number: int) -> str:
        """Return the id of a grace note (from 1) of a note."""
        return f"{self.prefix}{index}-g{number}"


def written_values(content: MeasureContent, beat: int) -> Iterator[tuple[WrittenValue, int]]:
    """Yield the written values of a measure that is not silent, each with its note's index.

    The index of a rest is −1. ``beat``: ticks a beat.
    """
    values = spell_measure(
        beat, content.length, content.lead, content.bounds, content.rests, True, content.section
    )
    for value in values:
        yield value, content.indices[value.span]


class WrittenNote(NamedTuple):
    """The id of a written note or measure, and its beginning and end in its strain, in beats."""

    start: Fraction
    end: Fraction
    name: str


def written_notes(strain: Strain) -> list[WrittenNote]:
    """Return every written note of a strain that is engraved alone, in order, without graces."""
    return [note for note, _ in _indexed_notes(strain)]


def note_indices(strain: Strain) -> Iterator[tuple[str, int]]:
    """Yield the id of every written note of such a strain, and the index of its note there."""
    for note, index in _indexed_notes(strain):
        yield note.name, index


def _indexed_notes(strain: Strain) -> Iterator[tuple[WrittenNote, int]]:
    beat = ticks_per_beat([strain])
    ids = NoteIds(strain.letter)
    for measure, content in zip(strain.measures, measure_contents(strain, beat), strict=True):
        if content.rests == (True,) or measure.rests:
            continue
        for value, index in written_values(content, beat):
            if index >= 0:
                start = measure.start + Fraction(value.start, beat)
                end = start + Fraction(value.length, beat)
                yield WrittenNote(start, end, ids.next(index)), index
