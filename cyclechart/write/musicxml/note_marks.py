"""The marks of a note: ornaments, articulations, dynamics, slides and its syllable."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from cyclechart.piece.note import Note
from cyclechart.piece.steps import LEVELS
from cyclechart.write.musicxml.lyrics import Lyrics, lyrics_of


class NoteMarks(NamedTuple):
    """The marks of a note.

    ``first``: those on its first written value; ``last``: those on its last (an andolan is in both,
    where its wavy line begins and ends). ``slide_stops``: a glide into the note ends on it;
    ``slide_starts``: a glide to the next note begins on its last written value.
    """

    first: tuple[str, ...] = ()
    last: tuple[str, ...] = ()
    slide_stops: bool = False
    slide_starts: bool = False
    lyrics: Lyrics = ()


NO_MARKS = NoteMarks()


def marks_by_note(notes: tuple[Note, ...]) -> Iterator[tuple[int, NoteMarks]]:
    """Yield the index and the marks of each note that has any."""
    lyrics: list[Lyrics] = [()] * len(notes)
    if any(note.word or note.verses for note in notes):
        lyrics = lyrics_of(notes)
    slide_stops = False
    level = ""
    for index, note in enumerate(notes):
        slide_starts = note.glides and index + 1 < len(notes)
        if note.marks or slide_starts or slide_stops or lyrics[index]:
            # A dynamic already in force is not written again.
            first = tuple(mark for mark in note.marks if mark not in ("fermata", level))
            level = next((mark for mark in note.marks if mark in LEVELS), level)
            last = tuple(mark for mark in note.marks if mark in ("fermata", "andolan"))
            yield index, NoteMarks(first, last, slide_stops, slide_starts, lyrics[index])
        slide_stops = slide_starts


def marks_of_tied(marks: NoteMarks, from_tie: bool, to_tie: bool) -> NoteMarks:
    """Return the marks of a note that stand on one of its tied values."""
    return NoteMarks(
        () if from_tie else marks.first,
        () if to_tie else marks.last,
        marks.slide_stops and not from_tie,
        marks.slide_starts and not to_tie,
        () if from_tie else marks.lyrics,
    )
