"""The charts of a set: one for each player and tune, drawn once and kept for the next run."""

from __future__ import annotations

import hashlib
import multiprocessing
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_of
from cyclechart.arrange.set_book import TunePage
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.write.files.atomic import put_all
from cyclechart.write.files.fingerprint import key_of
from cyclechart.write.files.paper_sizes import Paper

HANDFUL = 8
"""So many charts are drawn in this process; for more, others are worth their start."""
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
            sheet = part_of(band, player)
            if not all(strain.silent for strain in sheet.strains):
                made.append(Chart(tune.number, player.name, sheet, key_of(sheet, paper)))
    return made


def draw(sheet: Sheet, paper: Paper) -> bytes:
    """A chart as one PDF."""
    from cyclechart.write.engraving.systems import engrave_sheet
    from cyclechart.write.paper.charts import set_pages

    return set_pages(sheet, engrave_sheet(sheet, paper.line), "pdf", paper)[0]


@dataclass(frozen=True)
class Kept:
    """The folder of drawn charts: each under its key, with the digest of its bytes at the end."""

    folder: Path

    def path(self, key: str) -> Path:
        """Where a chart is."""
        return self.folder / f"{key}.pdf"

    def read(self, key: str) -> bytes | None:
        """A chart as it was drawn; None where it is not there or is no longer whole."""
        try:
            data = self.path(key).read_bytes()
        except OSError:
            return None
        whole, end = data[:-_END], data[-_END:]
        return whole if end == _seal(whole) else None

    def put(self, key: str, data: bytes) -> None:
        """Keep a chart. Raises OSError with the name of what cannot be written."""
        put_all({self.path(key): data + _seal(data)})

    def remove_all_but(self, keys: Iterable[str]) -> None:
        """Remove what this run had no use for."""
        used = {self.path(key).name for key in keys}
        if self.folder.is_dir():
            for path in sorted(self.folder.glob("*.pdf")):
                if path.name not in used and len(path.stem) == 64 and path.is_file():
                    path.unlink(missing_ok=True)


def _seal(data: bytes) -> bytes:
    """A comment after the PDF: whether a file is whole is seen without reading its pages."""
    return b"%" + hashlib.sha256(data).hexdigest().encode() + b"\n"


_END = 66


def draw_missing(
    charts: Sequence[Chart], paper: Paper, kept: Kept, show: Callable[[int, int], None]
) -> int:
    """Draw the charts that are not kept yet, each as soon as it is done; how many there were.

    ``show`` is told how many are drawn, and of how many. Raises OSError with the name of what
    cannot be written.
    """
    missing = {chart.key: chart.sheet for chart in charts if kept.read(chart.key) is None}
    show(0, len(missing))
    drawn = 0
    for key, data in zip(missing, _drawn(list(missing.values()), paper), strict=True):
        kept.put(key, data)
        drawn += 1
        show(drawn, len(missing))
    return drawn


def _drawn(sheets: list[Sheet], paper: Paper) -> Iterator[bytes]:
    """The charts in order; in processes of their own where there are many (the engraver cannot
    be shared by threads)."""
    workers = min(os.cpu_count() or 1, MOST_WORKERS)
    done = 0
    if len(sheets) > HANDFUL and workers > 1:
        try:
            context = multiprocessing.get_context("spawn")
            with ProcessPoolExecutor(workers, mp_context=context) as pool:
                for data in pool.map(draw, sheets, [paper] * len(sheets), chunksize=3):
                    yield data
                    done += 1
        except (BrokenProcessPool, NotImplementedError, PermissionError):
            pass  # no processes to be had here: the rest is drawn in this one
    for sheet in sheets[done:]:
        yield draw(sheet, paper)
