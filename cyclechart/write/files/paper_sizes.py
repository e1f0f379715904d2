"""The papers that charts are set on, and how large the music is on each."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Paper:
    """Sizes in mm. ``line``: how long a system is in the engraver's units, in which a staff is 72
    high; ``text``: by how much text is larger than on A4."""

    name: str
    width: float
    height: float
    side: float
    top: float
    bottom: float
    line: int
    text: float = 1.0
    facing: bool = True
    """False for a screen, which shows one page at a time."""


PAPERS = {
    paper.name: paper
    for paper in (
        Paper("a4", 210, 297, 15, 14, 16, 1900),
        Paper("letter", 215.9, 279.4, 17.9, 13, 16, 1900),
        # The screen of a ten-inch tablet, 4 to 3: the music is as large as on A4.
        Paper("tablet", 197, 147.75, 6, 6, 10, 1950, facing=False),
        # To be read standing, from a stand, in little light.
        Paper("stage", 210, 297, 12, 12, 15, 1400, 1.25),
    )
}
"""By name, the usual one first."""
A4 = PAPERS["a4"]


@dataclass(frozen=True)
class Look:
    """The look of charts: their paper, the names under the notes, the key signature, and whether
    each page is written as a picture too.

    ``heading``: of the charts, ``full`` or ``short``; ``pages``: the number that a part should
    have, 0 for any.
    """

    paper: Paper = A4
    names: str = "sargam"
    png: bool = False
    signature: str = "nearest"
    heading: str = "full"
    pages: int = 0
