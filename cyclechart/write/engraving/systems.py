"""A strain engraved: its MusicXML drawn as SVG, one picture a system.

Two passes. The first draws the strain on one endless line and reads how wide each measure wants
to be (``strain_sizes``); then cycles are dealt out to systems so that none is squeezed
(``system_layout``), and the second draws those.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from cyclechart.arrange.sheet.courtesies import Courtesy
from cyclechart.arrange.sheet.measures import Measure
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.write.engraving.drawing import Drawing
from cyclechart.write.engraving.engraver import PAGE_WIDTH, EngravingError, draw_systems
from cyclechart.write.engraving.engraver_facts import STAFF_SPACE
from cyclechart.write.engraving.strain_sizes import measure_strain
from cyclechart.write.engraving.system_breaks import cycles_of, is_landing
from cyclechart.write.engraving.system_fixes import fixed_drawings, fixed_score_drawings
from cyclechart.write.engraving.system_layout import STRETCH, SystemLayout, lay_out
from cyclechart.write.musicxml.document import with_breaks

HALF_SPACE = STAFF_SPACE // 2

WIDER, WIDER_TRIES = 40, 12
"""A system that the engraver breaks is drawn wider by one part in so many, at most so often."""


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


def draw(layout: SystemLayout) -> Engraved:
    """Draw the systems of a strain."""
    measured, breaks = layout.measured, layout.breaks
    measures, strains = measured.measures, measured.strains
    if layout.cuts:
        document = measured.written(list(breaks))
    else:
        ahead = bool(measured.ahead)
        document = with_breaks(measured.document, measures, list(breaks), courtesy=ahead)
    pages, width = _drawn_pages(document, layout)
    size, share = min(1.0, layout.line / width), min(1.0, width / layout.line)
    if measured.ahead:
        pages.pop()  # only there for the courtesy before it
    if len(strains) > 1:
        drawings, needed = fixed_score_drawings(pages, strains)
        if needed:
            pages, _ = _drawn_pages(document, layout, apart=ceil(needed / HALF_SPACE))
            pages = pages[:-1] if measured.ahead else pages
            drawings, _ = fixed_score_drawings(pages, strains)
        return Engraved(drawings, size, share=share)
    return Engraved(fixed_drawings(pages, strains[0]), size, measures, share)


def _drawn_pages(document: bytes, layout: SystemLayout, *, apart: int = 0) -> tuple[list[str], int]:
    """Return the pictures of a document's systems, and the width that they have; ``apart``: the
    least halves of a staff space between its staves, 0 for the usual.

    Where the engraver breaks a system that is as good as full, all are drawn a little wider, and
    shown smaller: no measure may go missing.
    """
    measured = layout.measured
    readers = [sheet.reader for sheet in measured.sheets]
    wanted = layout.count + bool(measured.ahead)
    width = layout.width
    for _ in range(WIDER_TRIES):
        pages = draw_systems(
            document,
            measured.strains,
            width,
            _least_justified(measured.measures, layout.breaks),
            braced=any(reader is not None and reader.staves > 1 for reader in readers),
            condensed=layout.condensed,
            opening=measured.opening,
            wide_names=any(sheet.script for sheet in measured.sheets),
            apart=apart,
        )
        if len(pages) == wanted:
            return pages, width
        width += width // WIDER
    raise EngravingError(f"{wanted} systems were planned and {len(pages)} drawn")


def _least_justified(measures: Sequence[Measure], breaks: Sequence[int]) -> float:
    """Return the share of the line from which a last system is stretched to all of it: a landing
    alone on its system is left ragged, and so is what would be stretched too far."""
    if not breaks:
        return 0.0
    last = list(cycles_of(measures))[-1]
    alone = breaks[-1] == last[0]
    return 0.8 if alone and is_landing(measures, last) else 1 / STRETCH


def engrave(
    sheet: Sheet,
    strain: Strain,
    *,
    first: bool,
    line: int = PAGE_WIDTH,
    courtesy: Courtesy | None = None,
) -> Engraved:
    """Draw a strain. ``first``: the first in its cycle, which shows the time signature; ``line``:
    how long a system is, in the engraver's units; ``courtesy``: the signatures at its end."""
    return draw(lay_out(measure_strain(sheet, strain, first=first, courtesy=courtesy), line))
