"""The dynamics of a step at the staff of those who play no lines: a bass, or chords.

They stand at the first note that is written, so that bars which are alike are still written once;
a repeat says again what holds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from cyclechart.arrange.part_notes import PLAIN, PartNote
from cyclechart.piece.model import Piece


def step_levels(piece: Piece) -> tuple[str, ...]:
    """Return the dynamics at the beginning of each step: its own, or those that it returns to
    after a step that had some; "" for none."""
    levels, before = [], ""
    for step in piece.steps:
        level = step.state.level
        levels.append(level or (PLAIN if before not in ("", PLAIN) else ""))
        before = level
    return tuple(levels)


def with_step_level(notes: Sequence[PartNote], level: str) -> list[PartNote]:
    """Return the notes of a step with its dynamics at the first that is struck; those of a line
    have them already."""
    marked = list(notes)
    if not level:
        return marked
    for at, note in enumerate(notes):
        if note.tied_in or (note.chord is None and (note.head or note.pitch is None)):
            continue
        if note.origin[0] < 0 or note.chord is not None:
            marked[at] = replace(note, marks=(level, *note.marks))
        break
    return marked
