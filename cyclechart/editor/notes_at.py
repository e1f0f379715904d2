"""The line and the note at a place of the text."""

from __future__ import annotations

from typing import NamedTuple

from cyclechart.finding import Spot
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.note import Note


class NoteAt(NamedTuple):
    """A note where it is written: the line that it stands in."""

    line: Line
    note: Note


def note_at(piece: Piece, line: int, column: int) -> NoteAt | None:
    """Return the first note written at a place (from 1), or None."""
    for one in piece.lines.values():
        for note in one.notes:
            if _covers(note.spot, piece.file, line, column):
                return NoteAt(one, note)
    return None


def _covers(spot: Spot, file: str, line: int, column: int) -> bool:
    here = spot.line == line and spot.column <= column < spot.column + spot.width
    return here and not spot.serial and spot.file == file
