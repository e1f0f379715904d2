"""The list of a score's parts: groups, names and abbreviations, read by others too."""

from __future__ import annotations

import music21
import pytest
from lxml import etree
from support.making import piece_of
from support.reading_musicxml import parsed, texts

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.write.musicxml.document import band_xml, part_xml, strains_xml
from cyclechart.write.musicxml.part_list import PartGroup, part_groups

TEXT = """\
players: {tabla: , voice: , tenor: , trumpet: , trombone: , tenor-sax: , piano: , drum-kit: }
lines:
  head: {sargam: "S R G m || S - - -"}
form: [play: head]
"""


def sheets_of(text: str = TEXT) -> tuple[Sheet, ...]:
    return score_sheets(Band(piece_of(text)))


def groups_of(sheets: tuple[Sheet, ...]) -> list[PartGroup]:
    return list(part_groups([sheet.reader for sheet in sheets if sheet.reader]))


def test_families_of_several_are_groups() -> None:
    # Tenor Sax; Trumpet, Trombone; Voice, Tenor; Piano; Drum Kit, Tabla. Barlines between voices
    # would cut the words (Gould, Behind Bars, on vocal music; from memory).
    assert groups_of(sheets_of()) == [
        PartGroup(1, 2, True), PartGroup(3, 4, False), PartGroup(6, 7, True)
    ]  # fmt: skip


def test_a_band_of_one_a_family_has_no_groups() -> None:
    text = TEXT.replace("tenor: , ", "").replace(", trombone: ", "").replace(", drum-kit: ", "")
    assert groups_of(sheets_of(text)) == []


def test_a_published_score_is_valid_and_has_its_groups_and_short_names() -> None:
    root = parsed(band_xml(sheets_of()))  # valid by the schema of MusicXML 4.0
    assert texts(root, "part-list/part-group/group-symbol") == ["bracket"] * 3
    assert texts(root, "part-list/part-group/group-barline") == ["yes", "no", "yes"]
    assert texts(root, "part-list/score-part/part-abbreviation") == [
        "T. Sx.", "Tpt.", "Tbn.", "Voice", "T.", "Pno.", "D. Kit", "Tabla"
    ]  # fmt: skip


def test_music21_reads_the_same_groups() -> None:
    # Outside: music21's own reading of the file.
    score = music21.converter.parse(band_xml(sheets_of()).decode(), format="musicxml")
    assert isinstance(score, music21.stream.Score)
    found = [
        ([part.partAbbreviation for part in group.getSpannedElements()], group.barTogether)
        for group in score.getElementsByClass(music21.layout.StaffGroup)
        if group.symbol == "bracket"
    ]
    assert found == [
        (["Tpt.", "Tbn."], True), (["Voice", "T."], False), (["D. Kit", "Tabla"], True)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("opening", "names"),
    [
        (True, ["Tenor Sax", "Trumpet", "Trombone", "Voice", "Tenor", "Piano", "Drum Kit"]),
        (False, ["T. Sx.", "Tpt.", "Tbn.", "Voice", "T.", "Pno.", "D. Kit"]),
    ],
)
def test_full_names_stand_before_the_first_system_alone(opening: bool, names: list[str]) -> None:
    sheets = sheets_of()
    document = strains_xml(sheets, [sheet.strains[0] for sheet in sheets], first=True,
                           opening=opening)  # fmt: skip
    root = etree.fromstring(document)
    assert texts(root, "part-list/score-part/part-name")[:7] == names
    assert texts(root, "part-list/score-part/part-abbreviation")[0] == "T. Sx."


def test_a_part_has_no_short_name() -> None:
    piece = piece_of(TEXT)
    root = parsed(part_xml(part_sheet(Band(piece), piece.players[0])))
    assert texts(root, ".//part-abbreviation") == []
    assert texts(root, ".//part-group") == []
