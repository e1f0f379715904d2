"""The plan of a chart's pages: how large its music is, and which systems stand in which row.

The music is drawn at its common size unless a slightly smaller one saves a page, or a number of
pages is asked for. Heights are estimated here; the template
sets the rows with their true heights and chooses the page turns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.write.engraving.strain_sizes import MeasuredStrain
from cyclechart.write.engraving.system_breaks import ROOMY
from cyclechart.write.engraving.system_layout import SystemLayout, lay_out
from cyclechart.write.files.paper_sizes import Paper
from cyclechart.write.paper.page_breaks import PageBreak, break_between, break_within
from cyclechart.write.paper.row_heights import (
    GAP,
    SYSTEM_GAP,
    heading_height,
    heading_lines,
    strain_height,
)

SIZES = (1.0, 0.98, 0.96, 0.94, 0.92, 0.9, 0.88, 0.86, 0.84, 0.82, 0.8)
"""The sizes of music that are tried; the least, a staff of 5.4 mm on A4, only where a number of
pages is asked for."""

SCORE_SIZES = (1.0, 0.97, 0.94, 0.91, 0.88, 0.85, 0.82, 0.79)
"""The sizes of a score's music: from a staff of 4.5 mm down to one of 3.5 mm, near the least that
handbooks give for study scores (from memory)."""

LAST = 0.8
"""The share of a page that the last page of a score counts at the least."""

SAVINGS = ((1 / 3, 0.88), (1.0, 0.92))
"""The fill of a last page, and the least size of music that may save one less full: a staff of 6 mm
at the least (the smallest that handbooks give for parts is near it; from memory)."""

HALF = 0.485
"""The share of a line that each of two short strains side by side takes."""

COMFORT = 1.15
"""A strain is short if so much more than it wants fits in half a line."""


@dataclass(frozen=True)
class Cell:
    """A system of a strain in a row: its number in the strain, -1 for a strain without a staff."""

    strain: int
    system: int
    share: float = 1.0
    """The share of the line that its system takes."""


@dataclass(frozen=True)
class Row:
    """The systems that stand side by side on a page; ``turn``: the page break before it."""

    cells: tuple[Cell, ...]
    turn: PageBreak


@dataclass(frozen=True)
class PagePlan:
    """The rows of a chart, and the layout of each strain (None for one without a staff).

    ``size``: of its music, 1 is the common one; ``pages``: the number that was asked for, or 0.
    """

    size: float
    layouts: tuple[SystemLayout | None, ...]
    rows: tuple[Row, ...]
    pages: int = 0


@dataclass(frozen=True)
class PageWish:
    """The wishes for a chart's pages. ``pages``: their number, 0 for any; ``heading``: ``full``, or
    ``short`` for one without tables; ``pairs``: short strains may stand side by side."""

    pages: int = 0
    heading: str = "full"
    pairs: bool = True


def plan_pages(
    sheet: Sheet,
    measured: Sequence[MeasuredStrain | None],
    paper: Paper,
    line: int,
    wish: PageWish,
) -> PagePlan:
    """Return the plan of a chart.

    ``measured``: its strains with the sizes they want, None for one without a staff; ``line``: the
    length of a line of common size, in the engraver's units.
    """
    best = _plan_at(1.0, sheet, measured, line, wish)
    fewest, last = _pages(best, sheet, paper, line, wish)
    least = SIZES[-1] if wish.pages else _least_size(last)
    for size in SIZES[1:]:
        if size < least or fewest <= max(1, wish.pages):
            break
        plan = _plan_at(size, sheet, measured, line, wish)
        pages, _ = _pages(plan, sheet, paper, line, wish)
        if pages < fewest:
            best, fewest = plan, pages
    return _with_turns(best, sheet)


def plan_score(
    over: Sheet,
    measured: Sequence[MeasuredStrain | None],
    paper: Paper,
    line: int,
    wish: PageWish,
) -> PagePlan:
    """Return the plan of a score, whose music is as much smaller as that saves pages in proportion.

    Parameters as for ``plan_pages``; ``over``: the sheet with the texts over the staves.
    """
    best: PagePlan | None = None
    fewest = 0.0
    for size in SCORE_SIZES:
        plan = _plan_at(size, over, measured, line, wish)
        pages, last = _pages(plan, over, paper, line, wish)
        # A last page that is hardly begun counts nearly as a whole one.
        cost = (pages - 1 + max(last, LAST)) / size
        if best is None or cost < fewest:
            best, fewest = plan, cost
    assert best is not None
    # Nobody plays from a score: any system may begin a page.
    return best


def _least_size(last: float) -> float:
    """Return the least size of music that may save a last page that is so full."""
    return next((size for full, size in SAVINGS if last < full), 1.0)


def _plan_at(
    size: float,
    sheet: Sheet,
    measured: Sequence[MeasuredStrain | None],
    line: int,
    wish: PageWish,
) -> PagePlan:
    """Return the plan with the music at a size."""
    long = int(line / size)
    layouts = [_layout(one, long) for one in measured]
    rows: list[Row] = []
    alone: int | None = None  # a short strain whose row has room for one more
    for index, strain in enumerate(sheet.strains):
        short = wish.pairs and _is_short(strain, measured[index], long)
        if (
            short
            and alone is not None
            and not strain.break_before
            and (measured[alone] is None) == (measured[index] is None)
        ):
            pair = []
            for one in (alone, index):
                layouts[one] = _layout(measured[one], int(long * HALF))
                pair.append(_first_cell(one, layouts[one]))
            rows[-1] = Row(tuple(pair), rows[-1].turn)
            alone = None
            continue
        asked = PageBreak(asked=index > 0 and strain.break_before == "page")
        count = layout.count if (layout := layouts[index]) is not None else 1
        rows.append(Row((_first_cell(index, layout),), asked))
        share = layout.share if layout is not None else 1.0
        rows += (Row((Cell(index, number, share),), PageBreak()) for number in range(1, count))
        alone = index if short else None
    return PagePlan(size, tuple(layouts), tuple(rows), wish.pages)


def _layout(measured: MeasuredStrain | None, line: int) -> SystemLayout | None:
    return None if measured is None else lay_out(measured, line, ragged=True)


def _is_short(strain: Strain, measured: MeasuredStrain | None, line: int) -> bool:
    """Return whether a strain has room on half a line, with its heading in at most two lines; in
    one where it is played from the sign, so that the row reads at a glance."""
    lines = 1 if strain.staff_text and not strain.measures else 2
    if strain.tones or heading_lines(strain, HALF) > lines:
        return False
    if measured is None:
        return True
    half = int(line * HALF)
    if sum(measured.widths) * COMFORT + measured.lead > half * 10:
        return False
    layout = lay_out(measured, half)
    return layout.count == 1 and layout.fullest <= ROOMY


def _first_cell(index: int, layout: SystemLayout | None) -> Cell:
    return Cell(index, 0, layout.share) if layout else Cell(index, -1)


def _with_turns(plan: PagePlan, sheet: Sheet) -> PagePlan:
    """Return a plan with what a page turn before each row costs the player."""
    rows = []
    tempo = sheet.tempo
    for number, row in enumerate(plan.rows):
        cell = row.cells[0]
        strain, layout = sheet.strains[cell.strain], plan.layouts[cell.strain]
        if cell.system > 0:
            assert layout is not None
            drawn = layout.measured.strains[0]
            turn = break_within(drawn, layout.breaks[cell.system - 1], tempo)
        else:
            last = sheet.strains[cell.strain - 1]
            turn = break_between(last, strain, tempo) if number else PageBreak()
            for one in row.cells:
                tempo = sheet.strains[one.strain].tempo or tempo
        rows.append(replace(row, turn=turn))
    return replace(plan, rows=tuple(rows))


def _pages(
    plan: PagePlan, sheet: Sheet, paper: Paper, line: int, wish: PageWish
) -> tuple[int, float]:
    """Return the estimated number of pages of a plan, and how full the last is (0 to 1)."""
    whole = paper.height - paper.top - paper.bottom
    room = whole - heading_height(sheet, paper, wish.heading)
    pages, used = 1, 0.0
    width = paper.width - 2 * paper.side
    for row in plan.rows:
        heights = []
        share = HALF if len(row.cells) > 1 else 1.0
        for cell in row.cells:
            layout = plan.layouts[cell.strain]
            tall = 0.0
            if layout is not None:
                unit = width * share / max(layout.line, layout.width)
                tall = layout.height_of(max(0, cell.system)) * unit
            heights.append(
                strain_height(sheet.strains[cell.strain], cell.system, tall, share, paper)
            )
        gap = GAP if row.cells[0].system <= 0 else SYSTEM_GAP
        need = max(heights) + gap
        if used and (used + need > room or row.turn.asked):
            pages, used, room = pages + 1, 0.0, whole
        used += need
    first = whole - room if pages == 1 else 0.0
    return pages, min(1.0, (used + first) / whole)
