"""The systems of a chart as they stand on its pages."""

from __future__ import annotations

from cyclechart.arrange.sheet.model import Sheet
from cyclechart.write.paper.chart_music import chart_music


def systems_by_letter(sheet: Sheet) -> dict[str, list[str]]:
    """The SVGs of each strain that is drawn, by the letter of the strain."""
    systems = zip(sheet.strains, chart_music(sheet).systems, strict=True)
    return {strain.letter: list(drawings) for strain, drawings in systems if drawings}
