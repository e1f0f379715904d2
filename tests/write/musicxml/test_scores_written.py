"""A published score against the timeline: valid, full measures, the notes of every melody."""

from __future__ import annotations

from pathlib import Path

import pytest
from support.making import DEMO_BOOK, ROOT, load_text, random_piece
from support.reading_musicxml import parsed
from write.musicxml.test_parts_written import check_part

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.score_order import in_score_order
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.piece.load import load
from cyclechart.piece.model import Piece
from cyclechart.produce.piece_charts import score_title
from cyclechart.write.musicxml.document import band_xml

PLAYERS = (
    "players:\n  tabla: {plays: theka}\n  double-bass: {plays: pedal}\n  cello: {octave: -1}\n"
    "  voice:\n  trumpet:\n  alto-sax:\n  flute:\n  piano: {plays: voicings}\n"
)


def check_score(piece: Piece) -> None:
    band = Band(piece)
    players = in_score_order(player for player in piece.players if player.role.reads_staff)
    parts = list(parsed(band_xml(score_sheets(band))).iterfind("part"))
    assert len(parts) == len(players)
    melodies = 0
    for player, part in zip(players, parts, strict=True):
        if player.role.plays_melody:
            check_part(piece, band, player, part)
            melodies += 1
    assert melodies


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_every_melody_of_the_scores_of_the_demo_book_is_that_of_the_timeline(path: Path) -> None:
    piece = load(path).piece
    assert piece is not None
    check_score(piece)


@pytest.mark.parametrize("seed", [1, 4, 9])
def test_every_melody_of_the_scores_of_random_bands_is_that_of_the_timeline(seed: int) -> None:
    piece = load_text(random_piece(seed) + PLAYERS, ROOT).piece
    assert piece is not None
    check_score(piece)


@pytest.mark.parametrize(
    ("players", "title"),
    [
        ("flute: , trumpet: , tabla: ", "Score, transposed"),
        # The double bass sounds an octave lower, which no score counts as transposed.
        ("flute: , double-bass: , tabla: ", "Score, concert pitch"),
    ],
)
def test_a_score_says_whether_it_is_transposed(players: str, title: str) -> None:
    text = f"players: {{{players}}}\n" + random_piece(1)
    piece = load_text(text, ROOT).piece
    assert piece is not None
    assert score_title(score_sheets(Band(piece))) == title
