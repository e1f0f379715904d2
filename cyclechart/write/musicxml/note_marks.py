"""What a note wears besides its time and pitch: marks, slides and a sung syllable."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from cyclechart.piece.model import Note
from cyclechart.piece.steps import LEVELS
from cyclechart.write.musicxml.staff import Lyric, lyrics_of


class NoteMarks(NamedTuple):
    """What a note wears besides its time and pitch.

    ``marks`` that stand on its first piece and ``last`` on its last; ``from_slide``: a glide ends
    here, ``to_slide``: one begins on its last piece.
    """

    marks: tuple[str, ...] = ()
    last: tuple[str, ...] = ()
    from_slide: bool = False
    to_slide: bool = False
    word: Lyric | None = None


NO_MARKS = NoteMarks()


def marks_by_note(notes: tuple[Note, ...]) -> Iterator[tuple[int, NoteMarks]]:
    """The notes that wear anything, and what."""
    words: list[Lyric | None] = [None] * len(notes)
    if any(note.word for note in notes):
        words = lyrics_of(notes)
    glided = False
    level = ""
    for index, note in enumerate(notes):
        glides = note.glides and index + 1 < len(notes)
        if note.marks or glides or glided or words[index] is not None:
            # A dynamic already in force is not written again.
            first = tuple(mark for mark in note.marks if mark not in ("fermata", level))
            level = next((mark for mark in note.marks if mark in LEVELS), level)
            last = tuple(mark for mark in note.marks if mark in ("fermata", "andolan"))
            yield index, NoteMarks(first, last, glided, glides, words[index])
        glided = glides


def marks_of_tied(dress: NoteMarks, from_tie: bool, to_tie: bool) -> NoteMarks:
    """What one of several tied notes wears."""
    return NoteMarks(
        () if from_tie else dress.marks,
        () if to_tie else dress.last,
        dress.from_slide and not from_tie,
        dress.to_slide and not to_tie,
        None if from_tie else dress.word,
    )
