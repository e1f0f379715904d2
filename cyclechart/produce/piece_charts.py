"""Sheets as files: the lead sheet, the part of every player, the score, the grid."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.key_signatures import with_signature
from cyclechart.arrange.sheet.model import Reader, Sheet
from cyclechart.arrange.sheet.road_map import in_step_letters
from cyclechart.write.files.paper_sizes import Look
from cyclechart.write.musicxml.document import band_xml, part_xml
from cyclechart.write.paper.chart_music import ChartMusic, chart_music, score_music
from cyclechart.write.paper.charts import set_pages
from cyclechart.write.paper.grid import set_grid
from cyclechart.write.paper.large_print import paper_for
from cyclechart.write.paper.page_plan import PageWish

PARTS = "parts"
"""The folder of the parts, beside the other files of a piece."""


def lead_sheet(sheet: Sheet, stem: str, look: Look) -> dict[str, bytes]:
    """Every line once: a PDF, and the pictures."""
    return _pages(with_look(sheet, look), stem, look)


def with_look(sheet: Sheet, look: Look) -> Sheet:
    """Return a sheet with the names and the signature of a look; one without names stays so, and
    one whose reader asks for other names has those."""
    return with_signature(sheet.named(names_of(sheet, look)), look.signature)


def names_of(sheet: Sheet, look: Look) -> str:
    """Return the tone names of a sheet in a look, if its reader asks for none of their own."""
    return sheet.names if sheet.names == "none" else look.names


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
    # Its texts name keys as they sound: they are those of a part that is not transposed.
    concert = next((s for s in sheets if s.reader and s.reader.transposes % 12 == 0), None)
    texts = concert or sheets[0]
    over = replace(
        lead,
        road=in_step_letters(lead.road),
        strains=tuple(
            replace(strain, tones="", drone=strain.drone and concert is not None)
            for strain in texts.strains
        ),
        reader=Reader(
            player="score",
            instrument=score_title(sheets),
            clef="treble",
            transposes=0,
            staff="pitched",
        ),
    )
    music = score_music(sheets, over, look.paper, PageWish(heading=look.heading, pairs=False))
    made = {f"{stem}-score.musicxml": band_xml(sheets)}
    return made | _set(over, music, f"{stem}-score", look)


def score_title(sheets: Sequence[Sheet]) -> str:
    """Return the title of a score, which says whether its staves are written as they sound.

    An octave apart counts as sounding, as in any score (Gould, Behind Bars, on transposing scores;
    from memory).
    """
    readers = [sheet.reader for sheet in sheets if sheet.reader is not None]
    transposed = any(reader.transposes % 12 for reader in readers)
    return f"Score, {'transposed' if transposed else 'concert pitch'}"


def grid(sheet: Sheet, stem: str, look: Look) -> dict[str, bytes]:
    """The lead sheet for those who read no staff."""
    names = look.names if look.names != "none" else "sargam"
    made = {f"{stem}-grid.pdf": set_grid(sheet, "pdf", look.paper, names)[0]}
    if look.png:
        made |= _numbered(f"{stem}-grid", set_grid(sheet, "png", look.paper, names))
    return made


def _pages(sheet: Sheet, stem: str, look: Look) -> dict[str, bytes]:
    wish = PageWish(look.pages if sheet.reader else 0, look.heading)
    look = replace(look, paper=paper_for(sheet, look.paper))
    return _set(sheet, chart_music(sheet, look.paper, wish), stem, look)


def _set(sheet: Sheet, music: ChartMusic, stem: str, look: Look) -> dict[str, bytes]:
    made = {f"{stem}.pdf": set_pages(sheet, music, "pdf", look.paper)[0]}
    if look.png:
        made |= _numbered(stem, set_pages(sheet, music, "png", look.paper))
    return made


def _numbered(stem: str, pages: Sequence[bytes]) -> dict[str, bytes]:
    return {f"{stem}-{number}.png": page for number, page in enumerate(pages, start=1)}
