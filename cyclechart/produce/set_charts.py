"""The charts of a set, those of each player and the leader's: from the cache, or drawn."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.set_book import TunePage
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.piece.model import Piece
from cyclechart.text.display import player_title
from cyclechart.write.files.cache import FolderCache
from cyclechart.write.files.fingerprint import key_of
from cyclechart.write.files.paper_sizes import Look, Paper
from cyclechart.write.files.progress import Show
from cyclechart.write.files.workers import WorkerEnded, cores_here, workers

HANDFUL = 8
"""Up to so many charts are drawn in this process: starting others takes longer."""
MOST_WORKERS = 4
"""Each of them holds an engraver and its fonts (about 150 MB)."""

ChartKind = Literal["part", "lead sheet", "score", "grid"]


@dataclass(frozen=True)
class Chart:
    """A chart of a tune. ``key`` names all that its bytes come from."""

    number: int
    """Of the tune."""
    player: str
    """The player whose part it is, or "" for a chart of nobody in particular."""
    sheet: Sheet
    key: str
    kind: ChartKind = "part"
    piece: Piece | None = None
    """The piece, of a score."""
    heading: str = "full"
    """``full``, or ``short`` for one without tables."""

    @property
    def name(self) -> str:
        """Its name within the tune, for contents and outlines."""
        return player_title(self.player) if self.kind == "part" else self.kind.capitalize()


def charts_of(
    tunes: Iterable[TunePage],
    paper: Paper,
    kinds: Sequence[ChartKind] = ("part",),
    heading: str = "full",
) -> list[Chart]:
    """The charts of a set of some kinds, tune by tune, those of the whole band before the parts;
    no part for the drone and for whom a tune has nothing. ``heading``: of all but grids."""
    made: list[Chart] = []
    for tune in tunes:
        band = Band(tune.piece)
        if set(kinds) - {"part"}:
            made += _band_charts(tune, band, paper, kinds, heading)
        for player in tune.piece.players if "part" in kinds else ():
            if not player.role.reads_staff:
                continue
            sheet = part_sheet(band, player)
            if not all(strain.silent for strain in sheet.strains):
                key = key_of(sheet, paper, heading)
                made.append(Chart(tune.number, player.name, sheet, key, heading=heading))
    return made


def _band_charts(
    tune: TunePage, band: Band, paper: Paper, kinds: Sequence[ChartKind], heading: str
) -> Iterator[Chart]:
    """Yield the lead sheet, the score and the grid of a tune, where they are asked for."""
    lead = sheet_of(tune.piece, band.road)
    key = key_of(lead, paper, heading)
    if "lead sheet" in kinds:
        yield Chart(tune.number, "", lead, key, "lead sheet", heading=heading)
    if "score" in kinds:
        sheets = score_sheets(band)
        every_key = _key("score", key, *(key_of(sheet, paper) for sheet in sheets))
        if sheets:
            yield Chart(tune.number, "", lead, every_key, "score", tune.piece, heading)
    if "grid" in kinds:
        yield Chart(tune.number, "", lead, _key("grid", key_of(lead, paper)), "grid")


def _key(*parts: str) -> str:
    return hashlib.sha256(" ".join(parts).encode()).hexdigest()


def draw(chart: Chart, paper: Paper) -> bytes:
    """A chart as one PDF."""
    if chart.kind == "grid":
        from cyclechart.write.paper.grid import set_grid

        return set_grid(chart.sheet, "pdf", paper)[0]
    if chart.piece is not None:
        from cyclechart.produce.piece_charts import score

        look = Look(paper=paper, heading=chart.heading)
        return score(Band(chart.piece), chart.sheet, "", look)["-score.pdf"]
    from cyclechart.write.paper.chart_music import chart_music
    from cyclechart.write.paper.charts import set_pages
    from cyclechart.write.paper.large_print import paper_for
    from cyclechart.write.paper.page_plan import PageWish

    paper = paper_for(chart.sheet, paper)
    music = chart_music(chart.sheet, paper, PageWish(heading=chart.heading))
    return set_pages(chart.sheet, music, "pdf", paper)[0]


def charts_drawn(
    charts: Sequence[Chart], paper: Paper, cache: FolderCache, show: Show
) -> tuple[dict[str, bytes], int]:
    """Return the PDFs of charts by their keys, and how many had to be drawn.

    The others come from the cache, and each goes there as soon as it is drawn. Raises OSError with
    the name of what cannot be written.
    """
    pdfs: dict[str, bytes] = {}
    missing: dict[str, Chart] = {}
    for chart in charts:
        data = cache.get(chart.key)
        if data is None:
            missing[chart.key] = chart
        else:
            pdfs[chart.key] = data
    show(0, len(missing), "")
    drawn = _drawn(list(missing.values()), paper)
    for number, (key, data) in enumerate(zip(missing, drawn, strict=True), start=1):
        cache.put(key, data)
        pdfs[key] = data
        show(number, len(missing), f"{missing[key].sheet.title}, {missing[key].name}")
    return pdfs, len(missing)


def _drawn(charts: list[Chart], paper: Paper) -> Iterator[bytes]:
    """The charts in order; in processes of their own where there are many (the engraver cannot
    be shared by threads)."""
    cores = min(cores_here(), MOST_WORKERS)
    done = 0
    if len(charts) > HANDFUL and cores > 1:
        try:
            with workers(cores) as pool:
                for data in pool.map(draw, charts, [paper] * len(charts), chunksize=3):
                    yield data
                    done += 1
        except (WorkerEnded, NotImplementedError, PermissionError):
            pass  # no processes to be had here: the rest is drawn in this one
    for chart in charts[done:]:
        yield draw(chart, paper)
