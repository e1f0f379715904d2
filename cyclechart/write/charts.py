"""The charts of a set: one for each player and tune, drawn once and kept for the next run."""

from __future__ import annotations

import hashlib
import multiprocessing
import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, fields, is_dataclass
from fractions import Fraction
from functools import cache, lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

from cyclechart.arrange.band import Band
from cyclechart.arrange.parts import part_of
from cyclechart.arrange.setbook import TunePage
from cyclechart.arrange.sheet import Sheet
from cyclechart.finding import Spot
from cyclechart.write.files import put_all
from cyclechart.write.papers import Paper

HANDFUL = 8
"""So many charts are drawn in this process; for more, others are worth their start."""
MOST_WORKERS = 4
"""Each of them holds an engraver and its fonts (about 150 MB)."""

_MAKERS = ("verovio", "typst", "fonttools", "uharfbuzz", "manimgx-fonts")
"""The packages that a chart's bytes come from, besides our own."""


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
            if player.plays == "drone":
                continue
            sheet = part_of(band, player)
            if not all(strain.silent for strain in sheet.strains):
                made.append(Chart(tune.number, player.name, sheet, key_of(sheet, paper)))
    return made


def key_of(sheet: Sheet, paper: Paper) -> str:
    """The name of a chart's bytes: of what stands in it, its paper and what draws it."""
    told: list[str] = [makers()]
    _tell((paper, sheet), told)
    return hashlib.sha256("\x1f".join(told).encode("utf-8", "surrogatepass")).hexdigest()


def _tell(value: object, told: list[str]) -> None:
    """All of a value but the places in files: moving a line down changes no chart."""
    if value is None or isinstance(value, str | int | float):
        told.append(repr(value))
    elif isinstance(value, Fraction):
        told.append(f"{value.numerator}/{value.denominator}")
    elif isinstance(value, Spot):
        return
    elif isinstance(value, tuple | list):
        told.append("[")
        for item in value:
            _tell(item, told)
        told.append("]")
    elif isinstance(value, Mapping):
        _tell(tuple(value.items()), told)
    elif isinstance(value, frozenset | set):
        _tell(sorted(map(repr, value)), told)
    elif is_dataclass(value) and not isinstance(value, type):
        told.append(type(value).__name__)
        for name in _names(type(value)):
            _tell(getattr(value, name), told)
        told.append(";")
    else:
        raise TypeError(f"a chart holds a {type(value).__name__}, which has no name for its key")


@cache
def _names(of: type[Any]) -> tuple[str, ...]:
    return tuple(field.name for field in fields(of))


@lru_cache(maxsize=1)
def makers() -> str:
    """What draws charts: our own files, and the versions of the packages that they call."""
    own = hashlib.sha256()
    package = Path(__file__).parent.parent
    for path in sorted([*package.rglob("*.py"), *package.rglob("*.typ")]):
        own.update(path.read_bytes())
    return " ".join([own.hexdigest(), *map(_version, _MAKERS)])


def _version(name: str) -> str:
    try:
        return f"{name} {version(name)}"
    except PackageNotFoundError:
        return f"no {name}"


def draw(sheet: Sheet, paper: Paper) -> bytes:
    """A chart as one PDF."""
    from cyclechart.write.engraving import engrave_sheet
    from cyclechart.write.pages import set_pages

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
