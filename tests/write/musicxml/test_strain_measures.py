"""Slashes stand on the middle line of every clef, on the page and in the published file."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import get_args

import pytest
from support.making import piece_of
from support.reading_musicxml import parsed

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.catalog.instruments import Clef
from cyclechart.write.engraving.systems import engrave
from cyclechart.write.musicxml.document import part_xml

STEPS = "CDEFGAB"
SOLO = (
    "players:\n  cello: {plays: melody}\n  tabla: {plays: theka}\nlines:\n"
    "  head: {sargam: S R G m P d n d P m}\n"
    "form:\n  - play: head\n  - {solo: cello, cycles: 2}\n"
)
CLEFS = [clef for clef in get_args(Clef) if clef != "percussion"]


def solo_in(clef: Clef) -> Sheet:
    """The part of a soloist who reads this clef."""
    band = Band(piece_of(SOLO))
    sheet = part_sheet(band, band.piece.players[0])
    assert sheet.reader is not None
    return replace(sheet, reader=replace(sheet.reader, clef=clef))


@pytest.mark.parametrize("clef", CLEFS)
def test_a_published_slash_is_on_the_middle_line_of_its_clef(clef: Clef) -> None:
    # The MusicXML specification: display-step and display-octave are places on the staff, counted
    # by the clef in force. A G clef puts G4 on its line, an F clef F3, a C clef C4.
    part = parsed(part_xml(solo_in(clef))).find("part")
    assert part is not None
    sign, line = part.findtext(".//clef/sign"), int(part.findtext(".//clef/line") or 0)
    octave = int(part.findtext(".//clef/clef-octave-change") or 0)
    on_line = {"G": 7 * 4 + 4, "F": 7 * 3 + 3, "C": 7 * 4}[str(sign)] + 7 * octave
    middle = on_line + 2 * (3 - line)
    slashes = [note for note in part.iter("note") if note.findtext("notehead") == "slash"]
    assert slashes
    for note in slashes:
        step, at = note.findtext("*/display-step"), note.findtext("*/display-octave")
        assert STEPS.index(str(step)) + 7 * int(str(at)) == middle


@pytest.mark.parametrize("clef", CLEFS)
def test_a_drawn_slash_is_on_the_middle_line(clef: Clef) -> None:
    sheet = solo_in(clef)
    (strain,) = [s for s in sheet.strains if any(note.head == "slash" for note in s.notes)]
    for svg in engrave(sheet, strain, first=True).systems:
        lines = re.findall(r'class="staff"[^>]*>\s*((?:<path d="M[^>]*/>\s*){5})', svg)[0]
        middle = re.findall(r"M\d+ (\d+)", lines)[2]
        heads = re.findall(r'class="notehead">\s*<use[^>]*translate\(\d+, (\d+)\)', svg)
        assert heads and set(heads) == {middle}
