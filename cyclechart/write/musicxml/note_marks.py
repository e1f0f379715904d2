"""The marks of a note: ornaments, articulations, dynamics, slides and its syllable."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from cyclechart.piece.hairpins_and_slurs import HAIRPIN_ENDS, slurs_of
from cyclechart.piece.note import Note
from cyclechart.piece.steps import LEVELS
from cyclechart.text.line_tree import CUT, HAIRPINS
from cyclechart.write.musicxml.lyrics import Lyrics, lyrics_of


class NoteMarks(NamedTuple):
    """The marks of a note.

    ``first``: those on its first written value; ``last``: those on its last (an andolan is in both,
    where its wavy line begins and ends); hairpins are in neither. ``slide_stops``: a glide into the
    note ends on it; ``slide_starts``: a glide to the next note begins on its last written value.
    ``slur_starts``: a slur begins on its first; ``slur_stops``: one ends on its last.
    """

    first: tuple[str, ...] = ()
    last: tuple[str, ...] = ()
    slide_stops: bool = False
    slide_starts: bool = False
    lyrics: Lyrics = ()
    slur_starts: bool = False
    slur_stops: bool = False


NO_MARKS = NoteMarks()


def marks_by_note(notes: tuple[Note, ...]) -> Iterator[tuple[int, NoteMarks]]:
    """Yield the index and the marks of each note that has any."""
    lyrics: list[Lyrics] = [()] * len(notes)
    if any(note.word or note.verses for note in notes):
        lyrics = lyrics_of(notes)
    slide_stops = False
    level = ""
    starts, stops = _slur_ends(notes)
    for index, note in enumerate(notes):
        slide_starts = note.glides and index + 1 < len(notes)
        slur = index in starts, index in stops
        if note.marks or slide_starts or slide_stops or lyrics[index] or any(slur):
            # A dynamic already in force is not written again.
            first = tuple(mark for mark in note.marks if mark not in _NOT_FIRST and mark != level)
            level = next((mark for mark in note.marks if mark in LEVELS), level)
            if not _HAIRPINS.isdisjoint(note.marks):
                level = ""
            last = tuple(mark for mark in note.marks if mark in _LAST)
            yield index, NoteMarks(first, last, slide_stops, slide_starts, lyrics[index], *slur)
        slide_stops = slide_starts


_LAST = frozenset(("fermata", "andolan", CUT))
_HAIRPINS = frozenset(HAIRPINS)
_NOT_FIRST = _HAIRPINS | {"fermata", CUT, HAIRPIN_ENDS}


def _slur_ends(notes: tuple[Note, ...]) -> tuple[frozenset[int], frozenset[int]]:
    """Return the indices of the notes on which slurs start, and of those on which they stop."""
    slurs = list(slurs_of(notes))
    return frozenset(first for first, _ in slurs), frozenset(last for _, last in slurs)


def marks_of_tied(marks: NoteMarks, from_tie: bool, to_tie: bool) -> NoteMarks:
    """Return the marks of a note that stand on one of its tied values."""
    return NoteMarks(
        () if from_tie else marks.first,
        () if to_tie else marks.last,
        marks.slide_stops and not from_tie,
        marks.slide_starts and not to_tie,
        () if from_tie else marks.lyrics,
        marks.slur_starts and not from_tie,
        marks.slur_stops and not to_tie,
    )
