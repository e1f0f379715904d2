"""The rhythm of the melody's cadences in a drummer's part."""

from __future__ import annotations

from itertools import pairwise

import pytest
from support.making import FEW_PIECE_SEEDS, piece_of, random_piece

from cyclechart.arrange.parts.band import Band
from cyclechart.piece.model import Piece

COVERED = (
    "lines:\n  a: {cadence: {sargam: G P P}}\n  b: {cadence: {sargam: GP}}\n",
    "rupak",
)
"""The pickup of the second cadence covers the end of the first."""
STROKES = (
    "players: {flute: , tabla: , tanpura: }\n"
    "lines:\n  a: {cadence: {sargam: S - R - G, gap: 0}}\n"
    "  b: {strokes: 'z z z z dhin/2 dhin/2 z z z z z z z z z z z dha'}\n"
    "form: [play: {flute: a, tabla: b}]\n",
    "tintal",
)


def figures(piece: Piece) -> None:
    band = Band(piece)
    for player in piece.players:
        if player.plays != "theka":
            continue
        notes = band.contents[player.name].notes
        for before, after in pairwise(notes):
            assert before.end <= after.start, (player.name, before, after)


@pytest.mark.parametrize(("text", "cycle"), [COVERED, STROKES], ids=["covered", "strokes"])
def test_no_figure_lasts_into_what_comes_next(text: str, cycle: str) -> None:
    piece = piece_of(text, cycle=cycle)
    figures(piece)
    drummer = next(player for player in piece.players if player.plays == "theka")
    assert any(note.syllable == "figure" for note in Band(piece).contents[drummer.name].notes)


@pytest.mark.parametrize("seed", FEW_PIECE_SEEDS)
def test_nothing_overlaps_in_a_drummers_part(seed: int) -> None:
    figures(piece_of(random_piece(seed)))


def test_a_note_that_a_pickup_covers_is_no_figure() -> None:
    piece = piece_of(COVERED[0], cycle=COVERED[1])
    notes = Band(piece).contents["tabla"].notes
    sounded = {note.origin for note in Band(piece).contents["melody"].notes}
    assert {note.origin for note in notes if note.syllable == "figure"} <= sounded
