"""The look of a written note: everything but its id, as the key of its template."""

from __future__ import annotations

from typing import NamedTuple

from cyclechart.write.musicxml.note_marks import NoteMarks
from cyclechart.write.musicxml.staff import Accidental
from cyclechart.write.musicxml.tuplets import Tuplet


class NoteLook(NamedTuple):
    """Everything about a written note but its id. Notes of the same look share a template.

    ``value``: the pitch (semitones above Sa) or the stroke; ``length``: ticks; ``type`` and
    ``dots``: the note value; ``opens`` and ``closes``: it is the first or last note of its tuplet;
    ``graces``: the text of its grace notes; ``also``: the other notes of its chord, each with its
    accidental; ``head``: as of a ``PartNote``; ``under``: the pitches or strokes named under it,
    None for its own name; ``rings``: it is tied to a note that is not drawn with it. In two layers:
    ``voice`` ("" where there is one alone) and ``staff`` (0 for the only one), ``stem``: its
    direction, "" for the usual one; ``quiet_tuplet``: the other layer shows the number of its
    tuplet.
    """

    value: int | str
    accidental: Accidental | None
    length: int
    type: str
    dots: int
    tuplet: Tuplet | None
    opens: bool
    closes: bool
    from_tie: bool
    to_tie: bool
    beams: tuple[str, ...]
    marks: NoteMarks
    graces: str = ""
    also: tuple[tuple[int | str, Accidental | None], ...] = ()
    head: str = ""
    under: tuple[int | str, ...] | None = None
    rings: bool = False
    voice: str = ""
    staff: int = 0
    stem: str = ""
    quiet_tuplet: bool = False
