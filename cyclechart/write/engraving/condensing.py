"""The staves of a score that are left out of a system because they rest through it.

The engraver leaves them out when its own document asks for it; the claps and waves then move to the
highest staff that is drawn.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import accumulate
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


def condensed_systems(
    sheets: Sequence[Sheet], strains: Sequence[Strain], breaks: Sequence[int], *, opening: bool
) -> tuple[DrawnStaves, ...]:
    """Return the staves of each system of a strain, () where none is left out.

    ``breaks``: the indices of the measures that begin a system after the first; ``opening``: all
    staves of the first system are drawn.
    """
    measures = strains[0].measures
    starts = [measures[at].start for at in (0, *breaks)]
    staves = [sheet.reader.staves if sheet.reader else 1 for sheet in sheets]
    numbers = list(accumulate(staves, initial=1))
    playing: list[set[int]] = [set() for _ in starts]
    for player, strain in enumerate(strains):
        for note in strain.notes:
            first = max(0, bisect_right(starts, note.start) - 1)
            end = max(first + 1, bisect_left(starts, note.start + note.length))
            for system in range(first, end):
                playing[system].add(player)
    if opening:
        playing[0] = set(range(len(strains)))
    most = max(len(strains) - len(players) for players in playing)
    if most < RESTING or not all(playing):
        return ()
    return tuple(DrawnStaves(numbers[min(players)], len(players)) for players in playing)


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
