"""Sheets as files: the lead sheet, the part of every player, the score, the grid."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet, score_sheets
from cyclechart.arrange.sheet.key_signatures import with_signature
from cyclechart.arrange.sheet.model import Reader, Sheet
from cyclechart.write.engraving.systems import engrave_score, engrave_sheet
from cyclechart.write.files.paper_sizes import Look
from cyclechart.write.musicxml.document import band_xml, part_xml
from cyclechart.write.paper.charts import set_pages
from cyclechart.write.paper.grid import set_grid

PARTS = "parts"
"""The folder of the parts, beside the other files of a piece."""

SCORE = 1.5
"""A score's systems are longer by so much, its staves smaller."""


def lead_sheet(sheet: Sheet, stem: str, look: Look) -> dict[str, bytes]:
    """Every line once: a PDF, and the pictures."""
    return _pages(with_look(sheet, look), stem, look)


def with_look(sheet: Sheet, look: Look) -> Sheet:
    """Return a sheet with the names and the signature of a look."""
    return with_signature(replace(sheet, names=look.names), look.signature)


def parts(band: Band, look: Look) -> dict[str, bytes]:
    """A PDF for every player, and a MusicXML file for those who read a staff."""
    made: dict[str, bytes] = {}
    for name, sheet in part_charts(band, look):
        made |= _pages(sheet, f"{PARTS}/{name}", look)
        if not all(strain.staff_text for strain in sheet.strains):
            made[f"{PARTS}/{name}.musicxml"] = part_xml(sheet)
    return made


def part_charts(band: Band, look: Look) -> Iterator[tuple[str, Sheet]]:
    """The name of a file for every player, and their part."""
    taken: set[str] = set()
    for player in band.piece.players:
        name = plain = re.sub(r"[^\w-]+", "-", player.name).strip("-") or "player"
        number = 1
        while name.lower() in taken:
            number += 1
            name = f"{plain}-{number}"
        taken.add(name.lower())
        yield name, with_look(part_sheet(band, player), look)


def score(band: Band, lead: Sheet, stem: str, look: Look) -> dict[str, bytes]:
    """All parts one under the other, as each is written, headed as the lead sheet is; nothing where
    nobody reads a staff."""
    sheets = [with_look(sheet, look) for sheet in score_sheets(band)]
    if not sheets:
        return {}
    line = int(look.paper.line * SCORE)
    drawn = [
        at
        for at, _ in enumerate(sheets[0].strains)
        if not all(sheet.strains[at].silent for sheet in sheets)
    ]
    systems = {}
    for at, following in pairwise([*drawn, None]):
        if at is not None:
            strain = sheets[0].strains[at]
            systems[strain.letter] = engrave_score(
                sheets, at, first=strain.first, line=line, following=following
            ).systems
    over = replace(
        lead,
        strains=tuple(replace(strain, tones="") for strain in sheets[0].strains),
        reader=Reader(
            player="score",
            instrument="Score, each part as it is written",
            clef="treble",
            transposes=0,
            staff="pitched",
        ),
    )
    made = {f"{stem}-score.musicxml": band_xml(sheets)}
    return made | _set(over, systems, f"{stem}-score", look)


def grid(sheet: Sheet, stem: str, look: Look) -> dict[str, bytes]:
    """The lead sheet for those who read no staff."""
    names = look.names if look.names != "none" else "sargam"
    made = {f"{stem}-grid.pdf": set_grid(sheet, "pdf", look.paper, names)[0]}
    if look.png:
        made |= _numbered(f"{stem}-grid", set_grid(sheet, "png", look.paper, names))
    return made


def _pages(sheet: Sheet, stem: str, look: Look) -> dict[str, bytes]:
    return _set(sheet, engrave_sheet(sheet, look.paper.line), stem, look)


def _set(sheet: Sheet, systems: dict[str, list[str]], stem: str, look: Look) -> dict[str, bytes]:
    made = {f"{stem}.pdf": set_pages(sheet, systems, "pdf", look.paper)[0]}
    if look.png:
        made |= _numbered(stem, set_pages(sheet, systems, "png", look.paper))
    return made


def _numbered(stem: str, pages: Sequence[bytes]) -> dict[str, bytes]:
    return {f"{stem}-{number}.png": page for number, page in enumerate(pages, start=1)}
