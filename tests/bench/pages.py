"""How charts fill their pages: ``python tests/bench/pages.py [--bands N] [--first N] [PIECE …]``.

Charts of the demo book and of the pieces named are set on each paper, those of random bands on one
paper each in turn, scores too. Counted are charts whose last page is less than a third full, page
turns that cut a repeat, an ending or a cadence which one page could hold,
and shapes of a system that overlap or leave its picture, by the boxes of the tests.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from support.bands import random_form, read  # noqa: E402
from support.boxes import boxes_outside, overlaps  # noqa: E402

from cyclechart.arrange.parts.band import Band  # noqa: E402
from cyclechart.arrange.parts.part_sheets import part_sheet  # noqa: E402
from cyclechart.arrange.parts.score_sheets import score_sheets  # noqa: E402
from cyclechart.arrange.sheet.lead_sheet import sheet_of  # noqa: E402
from cyclechart.arrange.sheet.model import Sheet  # noqa: E402
from cyclechart.piece.load import load  # noqa: E402
from cyclechart.piece.model import Piece  # noqa: E402
from cyclechart.write.files.paper_sizes import PAPERS, Paper  # noqa: E402
from cyclechart.write.paper.chart_music import ChartMusic, chart_music, score_music  # noqa: E402
from cyclechart.write.paper.charts import page_data  # noqa: E402
from cyclechart.write.paper.page_plan import PageWish, Row  # noqa: E402
from cyclechart.write.paper.typesetting import query  # noqa: E402

THIRD = 1 / 3
GAP, LEAST_GAP = 4.0, 1.2
"""The usual distance between two rows, and the least, in mm."""


@dataclass(frozen=True)
class ChartPages:
    """The pages of a chart. ``last``: how full the last is; ``cuts``: turns that cut something
    which one page could hold; ``hurried``: turns without a rest; ``turns``: all of them."""

    name: str
    pages: int
    last: float
    cuts: int
    hurried: int
    faults: tuple[str, ...] = ()
    """What overlaps or leaves the picture of a system."""

    @property
    def nearly_empty(self) -> bool:
        """True for a last page under a third full."""
        return self.pages > 1 and self.last < THIRD


def page_layout(sheet: Sheet, music: ChartMusic, paper: Paper) -> dict[str, Any]:
    """The rows that begin pages, and the heights of rows and rooms in mm, as the template sets
    them."""
    layout: dict[str, Any] = query(*page_data(sheet, music, paper), "<page-layout>")
    return layout


def _could_be_whole(
    rows: Sequence[Row], heights: Sequence[float], rooms: Sequence[float], start: int
) -> bool:
    """Return whether a page that begins with a row cuts a passage which one page could hold."""
    if not rows[start].turn.cuts:
        return False
    first, end = start, start
    while rows[first].turn.cuts:
        first -= 1
    while end < len(rows) and rows[end].turn.cuts:
        end += 1
    return sum(heights[first:end]) + LEAST_GAP * (end - first) <= rooms[1]


def pages_of(name: str, sheet: Sheet, music: ChartMusic, paper: Paper) -> ChartPages:
    """The pages of a chart."""
    layout = page_layout(sheet, music, paper)
    starts, heights, rows = layout["starts"], layout["heights"], music.plan.rows
    last = heights[starts[-1] :] if starts else []
    cuts = sum(_could_be_whole(rows, heights, layout["rooms"], start) for start in starts[1:])
    hurried = sum(rows[start].turn.hurried for start in starts[1:])
    full = (sum(last) + GAP * max(0, len(last) - 1)) / layout["rooms"][1]
    systems = [svg for drawings in music.systems for svg in drawings]
    faults = [str(fault) for svg in systems for fault in (*overlaps(svg), *boxes_outside(svg))]
    return ChartPages(name, len(starts) + layout["lone"], full, cuts, hurried, tuple(faults))


def charts_of(name: str, piece: Piece, paper: Paper) -> Iterator[ChartPages]:
    """The pages of all charts of a piece."""
    band = Band(piece)
    lead = sheet_of(piece, band.road)
    sheets = {"lead": lead, **{p.name: part_sheet(band, p) for p in piece.players}}
    for reader, sheet in sheets.items():
        music = chart_music(sheet, paper)
        if music.plan.rows:
            yield pages_of(f"{name} {reader}", sheet, music, paper)
    parts = score_sheets(band)
    if parts:
        over = replace(lead, strains=parts[0].strains)
        music = score_music(parts, over, paper, PageWish(pairs=False))
        yield pages_of(f"{name} score", over, music, paper)


def measured(task: tuple[str, str, str]) -> list[ChartPages]:
    """The charts of a piece in a file, or of a random band by its seed, on a paper."""
    kind, which, paper = task
    if kind == "seed":
        return list(
            charts_of(f"band {which} {paper}", read(random_form(int(which))), PAPERS[paper])
        )
    piece = load(Path(which)).piece
    assert piece is not None, which
    return list(charts_of(f"{Path(which).stem} {paper}", piece, PAPERS[paper]))


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("pieces", nargs="*")
    parser.add_argument("--bands", type=int, default=100)
    parser.add_argument("--first", type=int, default=0, help="the seed of the first band")
    parser.add_argument("--papers", default=",".join(PAPERS))
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--no-book", dest="book", action="store_false")
    chosen = parser.parse_args()
    book = sorted(map(str, (ROOT / "pieces").glob("*.yaml"))) if chosen.book else []
    papers = chosen.papers.split(",")
    tasks = [("file", path, paper) for paper in papers for path in (*book, *chosen.pieces)]
    seeds = range(chosen.first, chosen.first + chosen.bands)
    tasks += [("seed", str(n), papers[n % len(papers)]) for n in seeds]
    with ProcessPoolExecutor(chosen.jobs) as pool:
        charts = []
        for number, found in enumerate(pool.map(measured, tasks), start=1):
            charts += found
            print(f"{number} of {len(tasks)}", file=sys.stderr, flush=True)
            for chart in found:
                if chart.faults or chart.cuts or chart.nearly_empty:
                    print(f"  {chart}", file=sys.stderr, flush=True)
    several = [chart for chart in charts if chart.pages > 1]
    empty = [chart for chart in several if chart.nearly_empty]
    print(f"{len(charts)} charts, {len(several)} of more than one page")
    print(f"last page under a third full: {len(empty)} ({len(empty) / max(1, len(several)):.1%})")
    print(f"turns that cut what one page could hold: {sum(c.cuts for c in charts)}")
    turns = sum(chart.pages - 1 for chart in charts)
    print(f"turns without a rest, marked so: {sum(c.hurried for c in charts)} of {turns}")
    faulty = [chart for chart in charts if chart.faults]
    print(f"charts with shapes that overlap or leave the picture: {len(faulty)}")
    for chart in faulty:
        print(f"  {chart.name}: {len(chart.faults)}, the first {chart.faults[0]}")
    for chart in [*empty, *(chart for chart in charts if chart.cuts)]:
        print(f"  {chart.name}: {chart.pages} pages, last {chart.last:.2f}, cuts {chart.cuts}")


if __name__ == "__main__":
    main()
