"""Our own MusicXML and MIDI give the same lines back: pitches, onsets and lengths."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from pathlib import Path

import pytest
from support.brought_tunes import brought_piece
from support.making import DEMO_BOOK, piece_of, random_piece
from support.own_tunes import (
    Played,
    brought_from,
    first_difference,
    first_melody_player,
    lead_sheet_of,
    lines_of,
    midi_of,
    played_by,
)

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.catalog.library import Library
from cyclechart.catalog.search import ModeEntry, entries
from cyclechart.piece.load import load
from cyclechart.piece.model import Piece
from cyclechart.rules.judge import RULE_NAMES
from cyclechart.write.midi.tick_grid import tick_grid
from cyclechart.write.musicxml.document import part_xml

LIBRARY = Library.beside(Path.cwd())
RANDOM = [f"random {seed}" for seed in (2, 3, 5, 7, 9, 11)]
DEMOS = [path.stem for path in DEMO_BOOK]


@lru_cache(maxsize=1)
def known() -> list[ModeEntry]:
    return entries(LIBRARY)[0]


def piece_named(name: str) -> Piece:
    if name.startswith("random"):
        return piece_of(random_piece(int(name.split()[1])))
    path = next(path for path in DEMO_BOOK if path.stem == name)
    piece = load(path, RULE_NAMES).piece
    assert piece is not None
    return piece


@pytest.mark.parametrize("name", [*DEMOS, *RANDOM, "random 181", "random 194"])
def test_midi_gives_what_the_first_melody_player_plays(name: str) -> None:
    piece = piece_named(name)
    player = first_melody_player(piece)
    assert player is not None
    back = brought_piece(brought_from(midi_of(piece), "x.mid", player, LIBRARY, known()))
    grid = tick_grid(arrange(piece))
    near = Fraction(0) if grid.exact else Fraction(2, grid.ticks)
    theirs = first_melody_player(back)
    assert theirs is not None
    assert first_difference(played_by(piece, player), played_by(back, theirs), near) is None
    assert back.tonic.semitone == piece.tonic.semitone


@pytest.mark.parametrize("name", [*DEMOS, *RANDOM, "random 80", "random 166", "random 171"])
def test_a_lead_sheet_gives_its_lines(name: str) -> None:
    piece = piece_named(name)
    back = brought_piece(brought_from(lead_sheet_of(piece), "x.musicxml", None, LIBRARY, known()))

    def from_first(lines: list[list[Played]]) -> list[list[Played]]:
        return [
            [note._replace(pitch=note.pitch - line[0].pitch) for note in line] for line in lines
        ]

    brought = from_first(lines_of(back))
    assert [line for line in from_first(lines_of(piece)) if line not in brought] == []


@pytest.mark.parametrize("name", [*DEMOS, "random 2", "random 3"])
def test_a_part_gives_what_its_player_plays(name: str) -> None:
    piece = piece_named(name)
    player = next(one for one in piece.players if one.name == first_melody_player(piece))
    data = part_xml(part_sheet(Band(piece), player))
    back = brought_piece(brought_from(data, "x.musicxml", None, LIBRARY, known()))
    theirs = first_melody_player(back)
    assert theirs is not None
    assert first_difference(played_by(piece, player.name), played_by(back, theirs)) is None
