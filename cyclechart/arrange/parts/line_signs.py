"""The slurs and words of lines in a passage, once its bars stand in the order on paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

from cyclechart.arrange.part_notes import PartNote


def with_line_signs(notes: Sequence[PartNote]) -> list[PartNote]:
    """Return the notes with the ends of their slurs, and with all words above each as one text.

    A slur that a repeat or the edge of the passage cuts goes as far as its notes are written on
    end.
    """
    signed = list(notes)
    for at, note in enumerate(notes):
        goes_on = at + 1 < len(notes) and notes[at + 1].slurred
        slur: Literal["", "starts", "ends"] = ""
        if goes_on and not note.slurred:
            slur = "starts"
        elif note.slurred and not goes_on and at:
            slur = "ends"
        if slur or note.words:
            text = "; ".join(filter(None, (note.text, note.words)))
            signed[at] = replace(note, slur=slur, text=text)
    return signed
