"""All that tells one written note from another: the key of its template."""

from __future__ import annotations

from typing import NamedTuple

from cyclechart.write.musicxml.note_marks import NoteMarks
from cyclechart.write.musicxml.staff import Accidental
from cyclechart.write.musicxml.tuplets import Tuplet


class NoteLook(NamedTuple):
    """All that tells one written note from another but its id: the key of its template."""

    value: int | str
    sign: Accidental | None
    length: int
    type: str
    dots: int
    tuplet: Tuplet | None
    opens: bool
    closes: bool
    from_tie: bool
    to_tie: bool
    beams: tuple[str, ...]
    dress: NoteMarks
    graces: str = ""
    also: tuple[tuple[int | str, Accidental | None], ...] = ()
    head: str = ""
    under: tuple[int, ...] | None = None
    rings: bool = False
    """Tied to what is not drawn with it."""
