"""A strain engraved: its MusicXML drawn as SVG, one picture a system.

Two passes. The first draws the strain on one endless line and reads how wide each measure wants
to be; then cycles are dealt out to systems so that none is squeezed, and the second draws those.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property

from cyclechart.arrange.sheet.measures import Measure
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.write.engraving.condensing import (
    DrawnStaves,
    condensed_systems,
    players_by_measure,
    playing_sheets,
)
from cyclechart.write.engraving.drawing import Drawing
from cyclechart.write.engraving.engraver import (
    MARGIN,
    PAGE_WIDTH,
    EngravingError,
    draw_endless,
    draw_systems,
)
from cyclechart.write.engraving.section_cuts import (
    cut_at,
    shared_places,
    struck_beats,
    struck_within_beats,
)
from cyclechart.write.engraving.system_breaks import (
    ROOMY,
    cycles_of,
    deal,
    is_landing,
    room_of,
)
from cyclechart.write.engraving.system_fixes import fixed_drawings, fixed_score_drawings
from cyclechart.write.musicxml.document import strain_xml, strains_xml, with_breaks

SMALL = 0.75
"""A strain that would be drawn smaller has its widest sections cut, at beats that are struck."""

SCORE_SMALL = 0.92
"""The same for a score, whose staves are small already."""

STRETCH = 1.8
"""A system is stretched to at most so many times the width that its measures want."""

_MEASURE = re.compile(r'<g [^>]*class="measure"')
_STAFF_LINE = re.compile(r'<path d="M(\d+) \d+ L(\d+) \d+"')
_HEIGHT = re.compile(r'viewBox="0 0 \S+ ([\d.]+)"')


@dataclass(frozen=True)
class Engraved:
    """The systems of a strain, and the size they are drawn at (1 is the common size)."""

    drawings: list[Drawing]
    size: float
    measures: tuple[Measure, ...] = ()
    """Of one strain: as they are drawn, some cut."""
    share: float = 1.0
    """The share of the line that the systems take."""

    @property
    def systems(self) -> list[str]:
        """Each system as an SVG document."""
        return [drawing.svg for drawing in self.drawings]


@dataclass(frozen=True)
class MeasuredStrain:
    """A strain of a sheet, or of the sheets of a score, with the sizes that it wants.

    ``widths``: of its measures; ``lead``: of the clef and signature that open a system, both in
    tenths of the engraver's units; ``height``: of all of it on one line, in whole units;
    ``score``: it is drawn with names; ``opening``: it begins a score, with all staves.
    """

    sheets: tuple[Sheet, ...]
    strains: tuple[Strain, ...]
    first: bool
    document: bytes = b""
    widths: tuple[int, ...] = ()
    lead: int = 0
    height: float = 0.0
    score: bool = False
    opening: bool = True
    finer: dict[frozenset[Fraction], MeasuredStrain] = field(default_factory=dict, compare=False)
    """The same strain with its measures cut, by the places of the cuts, as far as was asked for."""

    @property
    def measures(self) -> tuple[Measure, ...]:
        """Its measures."""
        return self.strains[0].measures

    @cached_property
    def playing(self) -> list[frozenset[int]]:
        """The players, by their indices, who have a note in each measure."""
        return players_by_measure(self.strains)

    def cut(self, places: frozenset[Fraction]) -> MeasuredStrain:
        """Return the strain with its measures cut at some places."""
        if places not in self.finer:
            strains = tuple(cut_at(strain, places) for strain in self.strains)
            cut = replace(self, strains=strains, finer={})
            self.finer[places] = _measured(cut)
        return self.finer[places]

    def written(self, breaks: Collection[int] | None = None) -> bytes:
        """Return its document, with systems that begin at the measures of some indices."""
        if self.score:
            return strains_xml(
                self.sheets, self.strains, first=self.first, breaks=breaks, opening=self.opening
            )
        return strain_xml(self.sheets[0], self.strains[0], first=self.first, breaks=breaks)


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
        """Return the height of a system, roughly: that of the strain, without staves left out."""
        shown = self.condensed[system].players if self.condensed else len(self.measured.strains)
        return self.measured.height * shown / len(self.measured.strains)

    @property
    def size(self) -> float:
        """The size of the music: 1 is the common one."""
        return min(1.0, self.line / self.width)

    @property
    def share(self) -> float:
        """The share of the line that the systems take."""
        return min(1.0, self.width / self.line)


def measure_strain(sheet: Sheet, strain: Strain, *, first: bool) -> MeasuredStrain:
    """Return a strain with the sizes it wants. ``first``: the first in its cycle, which shows the
    time signature."""
    return _measured(MeasuredStrain((sheet,), (strain,), first))


def measure_score(
    sheets: Sequence[Sheet], at: int, *, first: bool, opening: bool = True
) -> MeasuredStrain:
    """Return the strain of an index of several sheets that have the same measures, with the sizes
    it wants, one staff under the other.

    ``opening``: it begins the score: all its staves are drawn, with their full names. Later, staves
    that rest through a strain are left out where that saves several.
    """
    if not opening:
        sheets = playing_sheets(sheets, at)
    strains = tuple(sheet.strains[at] for sheet in sheets)
    return _measured(MeasuredStrain(tuple(sheets), strains, first, score=True, opening=opening))


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
    whole = replace(measured, strains=joined, document=b"", widths=(), lead=finer.lead, finer={})
    return SystemLayout(whole, starts, fullest, line, cuts=True)


def draw(layout: SystemLayout) -> Engraved:
    """Draw the systems of a strain."""
    measured, breaks = layout.measured, layout.breaks
    measures, strains = measured.measures, measured.strains
    if layout.cuts:
        document = measured.written(list(breaks))
    else:
        document = with_breaks(measured.document, measures, list(breaks))
    readers = [sheet.reader for sheet in measured.sheets]
    pages = draw_systems(
        document,
        strains,
        layout.width,
        _least_justified(measures, breaks),
        braced=any(reader is not None and reader.staves > 1 for reader in readers),
        condensed=layout.condensed,
        opening=measured.opening,
    )
    if len(strains) > 1:
        return Engraved(fixed_score_drawings(pages, strains), layout.size, share=layout.share)
    drawings = fixed_drawings(pages, strains[0])
    return Engraved(drawings, layout.size, measures, layout.share)


def _least_justified(measures: Sequence[Measure], breaks: Sequence[int]) -> float:
    """Return the share of the line from which a last system is stretched to all of it: a landing
    alone on its system is left ragged, and so is what would be stretched too far."""
    if not breaks:
        return 0.0
    last = list(cycles_of(measures))[-1]
    alone = breaks[-1] == last[0]
    return 0.8 if alone and is_landing(measures, last) else 1 / STRETCH


def engrave(sheet: Sheet, strain: Strain, *, first: bool, line: int = PAGE_WIDTH) -> Engraved:
    """Draw a strain. ``first``: the first in its cycle, which shows the time signature; ``line``:
    how long a system is, in the engraver's units."""
    return draw(lay_out(measure_strain(sheet, strain, first=first), line))


def engrave_score(
    sheets: Sequence[Sheet], at: int, *, first: bool, line: int = PAGE_WIDTH
) -> Engraved:
    """Draw the strain of an index of several sheets that have the same measures, one under the
    other; ``line`` as for ``engrave``."""
    return draw(lay_out(measure_score(sheets, at, first=first), line))


def _measured(strain: MeasuredStrain) -> MeasuredStrain:
    """Return a strain, known without its sizes, with them."""
    document = strain.written()
    svg = draw_endless(document, score=len(strain.strains) > 1)
    spans = list(_spans(svg))
    count = len(strain.measures)
    if len(spans) != count:
        raise EngravingError(f"{count} measures were written and {len(spans)} drawn")
    lead = _lead(svg, spans[0][0])
    widths = [end - start for start, end in spans]
    widths[0] -= lead
    if strain.score:  # the names and brackets before its staves take room from its measures
        lead += spans[0][0]
    height = _HEIGHT.search(svg)
    return replace(
        strain,
        document=document,
        widths=tuple(widths),
        lead=lead,
        height=float(height[1]) if height else 0.0,
    )


def _spans(svg: str) -> Iterator[tuple[int, int]]:
    """Yield from where to where each measure's first staff line runs."""
    for match in _MEASURE.finditer(svg):
        line = _STAFF_LINE.search(svg, match.end())
        if line:
            yield int(line[1]), int(line[2])


def _lead(svg: str, start: int) -> int:
    """Return the distance of the first note, rest or drum stroke from the beginning of the line."""
    content = re.search(r'class="(?:note|rest|mRest|graceGrp)"', svg)
    place = re.search(r"<use [^>]*translate\((\d+),", svg[content.start() :]) if content else None
    return max(0, int(place[1]) - start - 200) if place else 0
