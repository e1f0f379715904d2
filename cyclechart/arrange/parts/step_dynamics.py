"""The dynamics of a step at the staff of those who play no lines: a bass, or chords.

They stand at the first note that is written, so that bars which are alike are still written once;
a repeat says again what holds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from cyclechart.arrange.part_notes import PLAIN, PartNote
from cyclechart.arrange.parts.line_signs import with_line_signs
from cyclechart.piece.model import Piece
from cyclechart.piece.player import Player
from cyclechart.text.line_tree import DYNAMICS

_LEVELS = frozenset(DYNAMICS)


def step_levels(piece: Piece) -> tuple[str, ...]:
    """Return the dynamics at the beginning of each step: its own, or those that it returns to
    after a step that had some; "" for none."""
    levels, before = [], ""
    for step in piece.steps:
        level = step.state.level
        levels.append(level or (PLAIN if before not in ("", PLAIN) else ""))
        before = level
    return tuple(levels)


def with_signs(notes: Sequence[PartNote], level: str, player: Player) -> list[PartNote]:
    """Return a player's notes of a step with the signs of their lines and the step's dynamics."""
    return with_step_level(with_line_signs(notes), level, given=not player.role.plays_melody)


def with_step_level(
    notes: Sequence[PartNote], level: str, *, given: bool = False
) -> list[PartNote]:
    """Return the notes of a step with its dynamics at the first that is struck.

    Those of a line have them already where they have changed since the line before; not after
    music of a role, for one who is ``given`` lines in place of it.
    """
    marked = list(notes)
    if not level:
        return marked
    for at, note in enumerate(notes):
        if note.tied_in or (note.chord is None and (note.head or note.pitch is None)):
            continue
        has_level = not _LEVELS.isdisjoint(note.marks)
        if note.origin[0] < 0 or note.chord is not None or (given and not has_level):
            marked[at] = replace(note, marks=(level, *note.marks))
        break
    return marked
