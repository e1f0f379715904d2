"""Whole MusicXML documents as golden files: lead sheets, parts, a score."""

from __future__ import annotations

import re

import pytest
from support.dense import dense_band, dense_part, dense_piece
from support.goldens import check_golden
from support.making import ROOT

from cyclechart.arrange.parts.part_sheets import score_of
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.piece.load import load
from cyclechart.write.musicxml.document import band_xml, part_xml, score_xml


def as_text(document: bytes) -> str:
    """The document, with our version pinned."""
    text = document.decode("utf-8")
    return re.sub(r"<software>cyclechart [^<]*<", "<software>cyclechart VERSION<", text)


@pytest.mark.parametrize("stem", ["lock-eleven", "salt-road"])
def test_the_lead_sheet_of_a_demo_piece_is_the_golden_one(stem: str) -> None:
    piece = load(ROOT / "pieces" / f"{stem}.yaml", ["foreign-tone"]).piece
    assert piece is not None
    check_golden(f"{stem}.musicxml", as_text(score_xml(sheet_of(piece))))


def test_the_lead_sheet_of_the_dense_piece_is_the_golden_one() -> None:
    check_golden("dense.musicxml", as_text(score_xml(sheet_of(dense_piece()))))


@pytest.mark.parametrize("player", ["alto-sax", "violin", "tabla"])
def test_a_part_of_the_dense_piece_is_the_golden_one(player: str) -> None:
    check_golden(f"dense-{player}.musicxml", as_text(part_xml(dense_part(player))))


def test_the_score_of_two_players_is_the_golden_one() -> None:
    sheets = [sheet for sheet in score_of(dense_band()) if _player(sheet) in ("flute", "tabla")]
    check_golden("dense-score.musicxml", as_text(band_xml(sheets)))


def _player(sheet: Sheet) -> str:
    return sheet.reader.player if sheet.reader else ""
