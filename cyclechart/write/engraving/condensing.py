"""The staves of a score that are left out of a system because they rest through it.

The engraver leaves them out when its own document asks for it; the claps and waves then move to the
highest staff that is drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, pairwise
from typing import NamedTuple

from lxml import etree

from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.write.engraving.drawing import parsed
from cyclechart.write.engraving.engraver_facts import MEI

RESTING = 3
"""The least number of staves that are left out: fewer save no room worth a change of the picture
(common practice in larger scores; from memory)."""


class DrawnStaves(NamedTuple):
    """The staves of a system: the number of the highest, from 1, and how many players have one."""

    top: int
    players: int


def playing_sheets(sheets: Sequence[Sheet], at: int) -> Sequence[Sheet]:
    """Return the sheets that are drawn in the strain of an index: without those that rest through
    it, where that leaves several out."""
    playing = [sheet for sheet in sheets if not sheet.strains[at].silent]
    return playing if playing and len(sheets) - len(playing) >= RESTING else sheets


def players_by_measure(strains: Sequence[Strain]) -> list[frozenset[int]]:
    """Return the players of a score, by their indices, who have a note in each measure."""
    starts = [measure.start for measure in strains[0].measures]
    playing: list[set[int]] = [set() for _ in starts]
    for player, strain in enumerate(strains):
        at = 0
        for note in sorted(strain.notes, key=lambda note: note.start):
            while at + 1 < len(starts) and starts[at + 1] <= note.start:
                at += 1
            playing[at].add(player)
            end, last = note.start + note.length, at
            while last + 1 < len(starts) and starts[last + 1] < end:
                last += 1
                playing[last].add(player)
    return list(map(frozenset, playing))


def condensed_systems(
    sheets: Sequence[Sheet],
    playing: Sequence[frozenset[int]],
    breaks: Sequence[int],
    *,
    opening: bool,
) -> tuple[DrawnStaves, ...]:
    """Return the staves of each system of a strain, () where none is left out.

    ``playing``: the players of each measure; ``breaks``: the indices of the measures that begin a
    system after the first; ``opening``: all staves of the first system are drawn.
    """
    systems = [
        frozenset[int]().union(*playing[start:end])
        for start, end in pairwise([0, *breaks, len(playing)])
    ]
    if opening:
        systems[0] = frozenset(range(len(sheets)))
    if not all(systems) or len(sheets) - min(map(len, systems)) < RESTING:
        return ()
    staves = [sheet.reader.staves if sheet.reader else 1 for sheet in sheets]
    numbers = list(accumulate(staves, initial=1))
    return tuple(DrawnStaves(numbers[min(players)], len(players)) for players in systems)


def condense(mei: str, systems: Sequence[DrawnStaves]) -> str:
    """Return the engraver's document of a score that leaves staves out of its systems."""
    root = parsed(mei)
    for definition in root.iter(f"{MEI}scoreDef"):
        definition.set("optimize", "true")
        break
    system = -1
    after_break = True
    for element in root.iter(f"{MEI}sb", f"{MEI}measure", f"{MEI}dir"):
        if element.tag == f"{MEI}sb":
            after_break = True
        elif element.tag == f"{MEI}measure":
            system, after_break = system + after_break, False
        elif element.get("staff") == "1":
            element.set("staff", str(systems[system].top))
    return etree.tostring(root, encoding="unicode")
