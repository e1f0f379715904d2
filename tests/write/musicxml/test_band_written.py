"""Pieces for a whole band, also with odd texts, as MusicXML that its own schema accepts."""

from __future__ import annotations

import pytest
from support.band_pieces import band_piece, spoiled
from support.making import load_text
from support.reading_musicxml import parsed

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.write.musicxml.document import part_xml, score_xml

ODD = (
    (1, '!"<b>&amp;\\"x"!S'), (2, '!"]]>"!S'), (4, '!"#strong[1]"!S'), (5, '!"$x^2$"!S'),
)  # fmt: skip
"""Seeds, and notes whose words are markup of other languages."""


@pytest.mark.parametrize("seed", (0, 3, 7, 11))
def test_the_sheet_and_every_part_are_valid(seed: int) -> None:
    written(band_piece(seed))


@pytest.mark.parametrize("seed", (1012, 1031, 1052, 1064, 1071))
def test_pieces_whose_texts_are_spoiled_are_valid_where_they_can_be_read(seed: int) -> None:
    piece = load_text(spoiled(band_piece(seed), seed, mildly=True)).piece
    if piece is not None:
        written(spoiled(band_piece(seed), seed, mildly=True))


@pytest.mark.parametrize(("seed", "note"), ODD)
def test_markup_in_words_above_and_in_notes_stays_text(seed: int, note: str) -> None:
    text = band_piece(seed).replace("note: brushes", "note: '<i>&]]>'")
    quoted = note.replace("\\", "\\\\").replace('"', '\\"')
    written(text.replace('head: {sargam: "S', f'head: {{sargam: "{quoted}', 1))


def written(text: str) -> None:
    """Write a piece; the XML is held against the schema of MusicXML 4.0."""
    piece = load_text(text).piece
    assert piece is not None
    parsed(score_xml(sheet_of(piece)))
    band = Band(piece)
    for player in piece.players:
        if player.role.reads_staff:
            parsed(part_xml(part_sheet(band, player)))
