"""What a player has to know to read the slashes and small notes of their part."""

from __future__ import annotations

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.sheet.model import Sheet

CHORD_SLASHES = "Slashes after a chord: the same tones in a rhythm of your own."
OWN_RHYTHM = "Slashes without stems under chord symbols: a rhythm of your own."
SMALL_STROKES = "Small notes: strokes and rhythms of the others, for orientation."


def reading_notes(sheet: Sheet) -> list[str]:
    """Return the sentences for a part, as far as it has what they explain."""
    if sheet.reader is None:
        return []
    notes = [
        note for strain in sheet.strains for note in strain.notes if isinstance(note, PartNote)
    ]
    own = any(note.chord is not None and note.head == "slash" for note in notes)
    chords = any(note.also and note.pitch is not None for note in notes)
    slashes = any(note.head == "slash" for note in notes)
    said = [CHORD_SLASHES] if chords and slashes else []
    if own:
        said.append(OWN_RHYTHM)
    if sheet.reader.staff != "pitched" and any(note.head == "cue" for note in notes):
        said.append(SMALL_STROKES)
    return said
