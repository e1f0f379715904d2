"""How loud each note of a line is: its dynamics, its hairpins, its slurs.

A hairpin goes evenly, in time, from the level in force to the dynamic that ends it; where none
follows, or one on the wrong side, it goes one step of the dynamics up or down. It gets there on the
note that ends it, in a line that ends first on its last note.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cyclechart.piece.hairpins_and_slurs import Hairpin, hairpins_of
from cyclechart.piece.note import Note

SLURRED = 8
"""Velocity taken from a note that a slur joins to the one before it: it is not struck anew, or only
softly (common practice; the figure is our choice)."""


def note_levels(notes: Sequence[Note], level: int, levels: Mapping[str, int]) -> list[int]:
    """Return the level of each note.

    ``level`` is in force before the first; ``levels``: those of the dynamics from soft to loud.
    """
    hairpins = {hairpin.first: hairpin for hairpin in hairpins_of(notes)}
    found: list[int] = []
    for index, note in enumerate(notes):
        if index < len(found):  # under a hairpin
            continue
        level = next((levels[mark] for mark in note.marks if mark in levels), level)
        hairpin = hairpins.get(index)
        if hairpin is None:
            found.append(level)
            continue
        goal = hairpin_goal(hairpin, level, levels)
        under = range(hairpin.first, hairpin.last + 1)
        begins = note.start
        reached = notes[min(hairpin.last + 1, len(notes) - 1)].start
        for at in under:
            done = (notes[at].start - begins) / (reached - begins) if reached > begins else 0
            found.append(round(level + (goal - level) * done))
        level = goal
    return found


def hairpin_goal(hairpin: Hairpin, level: int, levels: Mapping[str, int]) -> int:
    """Return the level that a hairpin leads to from a ``level``."""
    louder = hairpin.kind == "cresc"
    if hairpin.to and (levels[hairpin.to] > level) == louder and levels[hairpin.to] != level:
        return levels[hairpin.to]
    known = list(levels.values())
    nearest = min(range(len(known)), key=lambda at: abs(known[at] - level))
    wanted = nearest + (1 if louder else -1)
    if 0 <= wanted < len(known):
        return known[wanted]
    # Beyond the ends as far as the last step.
    return known[-1] + known[-1] - known[-2] if louder else known[0] + known[0] - known[1]
