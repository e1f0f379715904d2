"""The systems of a chart as they stand on its pages."""

from __future__ import annotations

from collections.abc import Sequence

from cyclechart.arrange.sheet.model import Sheet
from cyclechart.write.engraving.engraver import PAGE_WIDTH
from cyclechart.write.engraving.strain_sizes import measure_score
from cyclechart.write.engraving.system_layout import lay_out
from cyclechart.write.engraving.systems import Engraved, draw
from cyclechart.write.paper.chart_music import chart_music


def systems_by_letter(sheet: Sheet) -> dict[str, list[str]]:
    """The SVGs of each strain that is drawn, by the letter of the strain."""
    systems = zip(sheet.strains, chart_music(sheet).systems, strict=True)
    return {strain.letter: list(drawings) for strain, drawings in systems if drawings}


def engrave_score(
    sheets: Sequence[Sheet],
    at: int,
    *,
    first: bool,
    line: int = PAGE_WIDTH,
    following: int | None = None,
) -> Engraved:
    """Draw the strain of an index of several sheets that have the same measures, one under the
    other; ``line`` as for ``engrave``; ``following``: the index of the next strain drawn."""
    return draw(lay_out(measure_score(sheets, at, first=first, following=following), line))
