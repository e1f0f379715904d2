"""Slashes: a beat each, without stems; a part of a beat with its flags, so that the bar is full.

(Chart custom as in C. Roemer, The Art of Music Copying, on slashes: a stemless slash is a beat, a
rhythm has stems; from memory.)
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from support.making import piece_of
from support.reading_musicxml import measure_beats, parsed, texts

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.write.musicxml.document import part_xml

QUARTER = ("quarter", "none")


@pytest.mark.parametrize("name", ["flute", "tabla", "drum-kit"])
@pytest.mark.parametrize(
    ("section", "last"),
    [
        ("3 1/2", [("eighth", "up")]),
        ("5 1/4", [("16th", "up")]),
        ("2 3/4", [("eighth", "up")]),
        ("4", []),
    ],
)
def test_a_section_of_slashes_is_full(name: str, section: str, last: list[tuple[str, str]]) -> None:
    beats = sum(map(Fraction, section.split()), Fraction(0))
    whole = str(beats + 4 - beats % 1) if beats % 1 else str(beats + 4)
    written = f"{int(beats + 4)} {section.partition(' ')[2]}".strip()
    assert Fraction(whole) >= beats
    piece = piece_of(
        f"cycle: {{beats: {written}, sections: [4, {section}]}}\n"
        "players:\n  flute: {plays: melody}\n  tabla: {plays: theka}\n"
        "  drum-kit: {plays: theka}\nlines:\n  head: {sargam: S R G m | P d n S'}\n"
        "form:\n  - {play: head}\n  - {solo: flute, cycles: 3}\n  - {play: head}\n"
    )
    band = Band(piece)
    player = next(one for one in piece.players if one.name == name)
    sheet = part_sheet(band, player)
    root = parsed(part_xml(sheet))
    divisions = int(str(root.findtext(".//divisions")))
    strain = sheet.strains[1]
    at = strain.places.index(f"{strain.measures[0].cycle}b")
    number = strain.places[at]
    measure = next(m for m in root.iterfind("part/measure") if m.get("number") == number)
    assert set(texts(measure, "note/notehead")) == {"slash"}
    found = [
        (str(note.findtext("type")), str(note.findtext("stem")))
        for note in measure.iterfind("note")
    ]
    assert found == [QUARTER] * int(beats) + last
    assert measure_beats(measure, divisions) == beats
    dots = len(measure.findall("note/dot"))
    assert dots == (1 if section == "2 3/4" else 0)
