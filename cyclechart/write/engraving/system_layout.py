"""The layout of a strain: which measures stand in which system, and how wide and high those are."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from cyclechart.write.engraving.condensing import DrawnStaves, condensed_systems
from cyclechart.write.engraving.engraver import MARGIN, PAGE_WIDTH
from cyclechart.write.engraving.section_cuts import (
    cut_at,
    shared_places,
    struck_beats,
    struck_within_beats,
)
from cyclechart.write.engraving.strain_sizes import MeasuredStrain
from cyclechart.write.engraving.system_breaks import ROOMY, deal, room_of

SMALL = 0.75
"""A strain that would be drawn smaller has its widest sections cut, at beats that are struck."""

SCORE_SMALL = 0.92
"""The same for a score, whose staves are small already."""

STRETCH = 1.8
"""A system is stretched to at most so many times the width that its measures want."""

STACKED = 50
"""The height that a system lacks, on average, of a line with signs of jumps and endings."""


@dataclass(frozen=True)
class SystemLayout:
    """The systems of a strain on a line: the indices of the measures that begin one after the
    first, and how full the fullest is. ``measured`` may have other measures than at first: some
    cut. ``line`` in the engraver's units."""

    measured: MeasuredStrain
    breaks: tuple[int, ...]
    fullest: float
    line: int
    cuts: bool = False
    ragged: bool = False
    """True where a single system may be shorter than the line."""

    @property
    def count(self) -> int:
        """The number of systems."""
        return len(self.breaks) + 1

    def spare_height(self, system: int) -> float:
        """Return the height that a system lacks of the whole strain drawn on one line, in the
        engraver's units: nothing of it stands as high or as low as elsewhere."""
        extents = self.measured.extents
        if not extents or not self.breaks:
            return 0.0
        starts = (0, *self.breaks, len(extents))
        tops, feet = zip(*extents[starts[system] : starts[system + 1]], strict=True)
        every_top, every_foot = zip(*extents, strict=True)
        spare = float(min(tops) - min(every_top) + max(every_foot) - max(feet)) / 10
        # On one line rows of text clear the signs of jumps and endings of every measure.
        stacked = any(measure.jumps or measure.ending for measure in self.measured.measures)
        return spare + STACKED * stacked

    @property
    def width(self) -> int:
        """The width of the systems in the engraver's units: a single one that would be stretched
        too far is shorter than the line, an overfull one longer and shown smaller."""
        if self.fullest > ROOMY:
            return int(self.line * self.fullest / ROOMY)
        if self.breaks or self.cuts or not self.ragged:
            return self.line
        wanted = sum(self.measured.widths) * STRETCH + self.measured.lead
        return min(self.line, int(wanted / 10) + MARGIN)

    @cached_property
    def condensed(self) -> tuple[DrawnStaves, ...]:
        """The staves of each system of a score, () where none is left out."""
        measured = self.measured
        if not measured.score:
            return ()
        return condensed_systems(
            measured.sheets, measured.playing, self.breaks, opening=measured.opening
        )

    def height_of(self, system: int) -> float:
        """Return the height of a system, roughly: that of the strain on one line, without what
        this system lacks of it, or without staves left out."""
        if self.condensed:
            shown = self.condensed[system].players
            return self.measured.height * shown / len(self.measured.strains)
        return self.measured.height - self.spare_height(system)

    @property
    def size(self) -> float:
        """The size of the music: 1 is the common one."""
        return min(1.0, self.line / self.width)

    @property
    def share(self) -> float:
        """The share of the line that the systems take."""
        return min(1.0, self.width / self.line)


def lay_out(
    measured: MeasuredStrain, line: int = PAGE_WIDTH, *, ragged: bool = False
) -> SystemLayout:
    """Return how a strain is dealt out to systems on a line of this length.

    ``ragged``: a single system that would be stretched too far may be shorter.
    """
    breaks, fullest = deal(measured.measures, measured.widths, measured.lead, line)
    most = ROOMY / (SCORE_SMALL if measured.score else SMALL)
    if fullest <= most:
        return SystemLayout(measured, tuple(breaks), fullest, line, ragged=ragged)
    room = room_of(measured.lead, line) * ROOMY
    wide = {i for i, width in enumerate(measured.widths) if width > room}
    cuts: set[Fraction] = set()
    finer = measured
    for places in (struck_beats, struck_within_beats):
        if fullest > most:
            cuts |= shared_places(places, measured.strains, wide)
            finer = measured.cut(frozenset(cuts))
            breaks, fullest = deal(finer.measures, finer.widths, finer.lead, line)
    if not cuts:
        return SystemLayout(measured, tuple(breaks), fullest, line, ragged=ragged)
    # The pieces of a section that share a system are one measure again.
    heads = {finer.measures[i].start for i in breaks}
    joined = tuple(cut_at(strain, heads) for strain in measured.strains)
    starts = tuple(i for i, measure in enumerate(joined[0].measures) if measure.start in heads)
    # Of its sizes only the breaks are asked for, and those are known.
    whole = replace(
        measured, strains=joined, document=b"", widths=(), lead=finer.lead, extents=(), finer={}
    )
    return SystemLayout(whole, starts, fullest, line, cuts=True)
