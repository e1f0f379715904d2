"""The page of a rehearsal folder, with the parts on all twelve Sas."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.piece.model import Piece
from cyclechart.write.files.cache import FolderCache
from cyclechart.write.files.fingerprint import key_of
from cyclechart.write.files.manifest import Manifest, write_files
from cyclechart.write.webpage.data import page_data
from cyclechart.write.webpage.html import page_html
from cyclechart.write.webpage.parts import PAGE_LOOK, packed_parts
from cyclechart.write.webpage.schema import PageData

PAGE = "page.html"
SYSTEMS = ".systems"
"""The cache of drawn systems, and the ending of its files. It lies beside the folder, which may be
copied whole."""
SHIFTS = tuple(range(-5, 7))
"""By how many semitones Sa can be moved on the page."""


@dataclass(frozen=True)
class PageJob:
    """The page to be made of a piece in a folder. ``data``: all that is on it but the parts;
    ``key``: a digest of all that it depends on; ``cache``: that of its drawn systems."""

    piece: Piece
    folder: Path
    shifts: tuple[int, ...]
    data: PageData
    key: str
    cache: FolderCache

    @property
    def is_current(self) -> bool:
        """True if the page that lies in the folder is this one."""
        return Manifest(self.folder).is_current(PAGE, self.key)


def page_job(
    piece: Piece, folder: Path, shifts: Sequence[int] = SHIFTS, *, plain: bool = False
) -> PageJob:
    """Return the page to be made of a piece in a folder; ``plain``: without phrasing, on the
    grid."""
    data = page_data(piece, shifts=(), plain=plain)
    cache = FolderCache(folder.parent / SYSTEMS, SYSTEMS)
    return PageJob(piece, folder, tuple(shifts), data, _key(piece, data, shifts), cache)


def draw_parts(piece: Piece, shift: int, cache: FolderCache) -> dict[str, str]:
    """Return the parts with Sa moved by so many semitones, as they stand in the page."""
    return packed_parts(piece, shift, look=PAGE_LOOK, drawn=cache)


def write_page(job: PageJob, parts: Mapping[int, dict[str, str]]) -> tuple[str, ...]:
    """Write the page with its parts, by shift; a sentence where somebody else's had to be kept.

    Raises OSError."""
    job.cache.remove_unused()
    drawn = {str(shift): parts[shift] for shift in job.shifts}
    page = page_html({**job.data, "parts": drawn})
    return write_files(job.folder, {"page": {PAGE: page}}, {PAGE: job.key})


def _key(piece: Piece, data: PageData, shifts: Sequence[int]) -> str:
    """A digest of all that is on the page: the sound, the parts, the page itself."""
    band = Band(piece)
    contents = [key_of(part_sheet(band, player), PAGE_LOOK.paper) for player in piece.players]
    contents += [json.dumps(data, sort_keys=True), repr(tuple(shifts))]
    empty: PageData = {**data, "title": "", "sounds": {}, "voices": []}
    contents.append(hashlib.sha256(page_html(empty)).hexdigest())
    return hashlib.sha256("\x1f".join(contents).encode("utf-8", "surrogatepass")).hexdigest()
