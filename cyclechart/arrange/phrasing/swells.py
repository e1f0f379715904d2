"""What a note that is held under a hairpin gains until it ends."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cyclechart.arrange.roles.line_levels import hairpin_goal, note_levels
from cyclechart.piece.hairpins_and_slurs import hairpins_of
from cyclechart.piece.note import Note


def swells_of(notes: Sequence[Note], level: int, levels: Mapping[str, int]) -> dict[int, int]:
    """Return the velocity that each note under a hairpin gains (below 0: loses) by its end.

    ``level`` is in force before the first note; ``levels``: those of the dynamics.
    """
    found = note_levels(notes, level, levels)
    swells = {}
    for hairpin in hairpins_of(notes):
        goal = hairpin_goal(hairpin, found[hairpin.first], levels)
        for at in range(hairpin.first, hairpin.last + 1):
            reached = goal if at == hairpin.last else found[at + 1]
            if reached != found[at]:
                swells[at] = reached - found[at]
    return swells
