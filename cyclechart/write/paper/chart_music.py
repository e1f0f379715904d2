"""The music of a chart: its strains measured, planned for their pages, and drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cyclechart.arrange.sheet.courtesies import courtesies
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.write.engraving.strain_sizes import (
    MeasuredStrain,
    measure_score,
    measure_strain,
)
from cyclechart.write.engraving.systems import draw
from cyclechart.write.files.paper_sizes import A4, Paper
from cyclechart.write.paper.page_plan import PagePlan, PageWish, plan_pages, plan_score

SCORE = 1.5
"""A score's systems are longer by so much, its staves smaller."""


@dataclass(frozen=True)
class ChartMusic:
    """The plan of a chart's pages, and the systems of each of its strains as SVG documents.

    ``heading``: ``full``, or ``short`` for one without tables; ``turned``: the reader turns the
    pages while they play.
    """

    plan: PagePlan
    systems: tuple[tuple[str, ...], ...]
    heading: str = "full"
    turned: bool = False


ANY_PAGES = PageWish()


def chart_music(sheet: Sheet, paper: Paper = A4, wish: PageWish = ANY_PAGES) -> ChartMusic:
    """Return the music of a lead sheet or part."""
    drawn = [strain for strain in sheet.strains if not strain.silent]
    ahead = courtesies(drawn)
    measured = [
        None
        if strain.silent
        else measure_strain(sheet, strain, first=strain.first, courtesy=next(ahead))
        for strain in sheet.strains
    ]
    plan = plan_pages(sheet, measured, paper, paper.line, wish)
    return _drawn(plan, wish, turned=sheet.reader is not None)


def score_music(
    sheets: Sequence[Sheet], over: Sheet, paper: Paper = A4, wish: PageWish = ANY_PAGES
) -> ChartMusic:
    """Return the music of several sheets that have the same measures, one staff under the other;
    ``over``: the sheet with the texts over them."""
    drawn = [
        at
        for at in range(len(sheets[0].strains))
        if not all(sheet.strains[at].silent for sheet in sheets)
    ]
    measured: list[MeasuredStrain | None] = [None] * len(sheets[0].strains)
    for at, following in zip(drawn, [*drawn[1:], None], strict=True):
        first = sheets[0].strains[at].first
        opening = at == drawn[0]
        measured[at] = measure_score(sheets, at, first=first, opening=opening, following=following)
    plan = plan_score(over, measured, paper, int(paper.line * SCORE), wish)
    return _drawn(plan, wish, turned=False)


def _drawn(plan: PagePlan, wish: PageWish, *, turned: bool) -> ChartMusic:
    systems = tuple(tuple(draw(layout).systems) if layout else () for layout in plan.layouts)
    return ChartMusic(plan, systems, wish.heading, turned)
