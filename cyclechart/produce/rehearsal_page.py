"""The page of a rehearsal folder, with the parts on all twelve Sas."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from functools import partial
from pathlib import Path

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.piece.model import Piece
from cyclechart.write.files.cache import FolderCache
from cyclechart.write.files.fingerprint import key_of
from cyclechart.write.files.manifest import Manifest, write_files
from cyclechart.write.files.workers import workers
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


def write_page(
    piece: Piece,
    folder: Path,
    cores: int,
    shifts: Sequence[int] = SHIFTS,
    *,
    plain: bool = False,
) -> tuple[bool, tuple[str, ...]]:
    """Make the page unless it is there and current; ``plain``: without phrasing, on the grid.

    Returns whether it was made, and a sentence where somebody else's had to be kept. Raises
    OSError.
    """
    data = page_data(piece, shifts=(), plain=plain)
    key = _key(piece, data, shifts)
    if Manifest(folder).is_current(PAGE, key):
        return False, ()
    cache = FolderCache(folder.parent / SYSTEMS, SYSTEMS)
    parts = _drawn(piece, shifts, cache, cores)
    cache.remove_unused()
    page = page_html({**data, "parts": parts})
    return True, write_files(folder, {"page": {PAGE: page}}, {PAGE: key})


def _drawn(
    piece: Piece, shifts: Sequence[int], cache: FolderCache, cores: int
) -> dict[str, dict[str, str]]:
    """The parts on each Sa, a process each."""
    draw = partial(packed_parts, look=PAGE_LOOK, drawn=cache)
    with workers(cores) as pool:
        drawn = pool.map(draw, [piece] * len(shifts), shifts)
        return dict(zip(map(str, shifts), drawn, strict=True))


def _key(piece: Piece, data: PageData, shifts: Sequence[int]) -> str:
    """A digest of all that is on the page: the sound, the parts, the page itself."""
    band = Band(piece)
    contents = [key_of(part_sheet(band, player), PAGE_LOOK.paper) for player in piece.players]
    contents += [json.dumps(data, sort_keys=True), repr(tuple(shifts))]
    empty: PageData = {**data, "title": "", "sounds": {}, "voices": []}
    contents.append(hashlib.sha256(page_html(empty)).hexdigest())
    return hashlib.sha256("\x1f".join(contents).encode("utf-8", "surrogatepass")).hexdigest()
