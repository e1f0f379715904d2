"""The charts of a set, one for each player and tune: from the cache, or drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.set_book import TunePage
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.write.files.cache import FolderCache
from cyclechart.write.files.fingerprint import key_of
from cyclechart.write.files.paper_sizes import Paper
from cyclechart.write.files.workers import WorkerEnded, cores_here, workers

HANDFUL = 8
"""Up to so many charts are drawn in this process: starting others takes longer."""
MOST_WORKERS = 4
"""Each of them holds an engraver and its fonts (about 150 MB)."""


@dataclass(frozen=True)
class Chart:
    """A player's chart of a tune. ``key`` names all that its bytes come from."""

    number: int
    """Of the tune."""
    player: str
    sheet: Sheet
    key: str


def charts_of(tunes: Iterable[TunePage], paper: Paper) -> list[Chart]:
    """The charts of a set, tune by tune; none for the drone and for whom a tune has nothing."""
    made = []
    for tune in tunes:
        band = Band(tune.piece)
        for player in tune.piece.players:
            if not player.role.reads_staff:
                continue
            sheet = part_sheet(band, player)
            if not all(strain.silent for strain in sheet.strains):
                made.append(Chart(tune.number, player.name, sheet, key_of(sheet, paper)))
    return made


def draw(sheet: Sheet, paper: Paper) -> bytes:
    """A chart as one PDF."""
    from cyclechart.write.paper.chart_music import chart_music
    from cyclechart.write.paper.charts import set_pages

    return set_pages(sheet, chart_music(sheet, paper), "pdf", paper)[0]


def charts_drawn(
    charts: Sequence[Chart], paper: Paper, cache: FolderCache, show: Callable[[int, int], None]
) -> tuple[dict[str, bytes], int]:
    """Return the PDFs of charts by their keys, and how many had to be drawn.

    The others come from the cache, and each goes there as soon as it is drawn. ``show`` is called
    with how many are drawn, and of how many. Raises OSError with the name of what cannot be
    written.
    """
    pdfs: dict[str, bytes] = {}
    missing: dict[str, Sheet] = {}
    for chart in charts:
        data = cache.get(chart.key)
        if data is None:
            missing[chart.key] = chart.sheet
        else:
            pdfs[chart.key] = data
    show(0, len(missing))
    drawn = _drawn(list(missing.values()), paper)
    for number, (key, data) in enumerate(zip(missing, drawn, strict=True), start=1):
        cache.put(key, data)
        pdfs[key] = data
        show(number, len(missing))
    return pdfs, len(missing)


def _drawn(sheets: list[Sheet], paper: Paper) -> Iterator[bytes]:
    """The charts in order; in processes of their own where there are many (the engraver cannot
    be shared by threads)."""
    cores = min(cores_here(), MOST_WORKERS)
    done = 0
    if len(sheets) > HANDFUL and cores > 1:
        try:
            with workers(cores) as pool:
                for data in pool.map(draw, sheets, [paper] * len(sheets), chunksize=3):
                    yield data
                    done += 1
        except (WorkerEnded, NotImplementedError, PermissionError):
            pass  # no processes to be had here: the rest is drawn in this one
    for sheet in sheets[done:]:
        yield draw(sheet, paper)
