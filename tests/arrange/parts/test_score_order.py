"""The order of a score, its sections and short names."""

from __future__ import annotations

import random

import pytest
from support.making import piece_of

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.score_order import (
    SECTIONS,
    in_score_order,
    section_of,
    short_names,
)
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.catalog.instruments import instrument, instrument_names
from cyclechart.piece.model import Piece

LINE = 'lines:\n  head: {sargam: "S R G m || S - - -"}\n'

# The order of a jazz score with strings (Gould, Behind Bars, on the layout of scores; jazz band
# scores; both from memory): from the top to the foot.
ORDERS = {
    "big band": (
        "flute clarinet alto-sax tenor-sax baritone-sax trumpet trombone tuba alto "
        "vibraphone piano guitar violin viola cello double-bass drum-kit tabla mridangam konnakol"
    ),
    "ragas": "bansuri shehnai soprano harmonium sitar sarangi bass-guitar tabla ghatam",
    "winds": "piccolo flute oboe clarinet bassoon soprano-sax flugelhorn horn",
    "voices": "trumpet soprano mezzo-soprano alto tenor baritone bass-voice organ",
}


def band_of(names: list[str]) -> Piece:
    players = "".join(f"  {name}:\n" for name in names)
    return piece_of(f"players:\n{players}{LINE}")


@pytest.mark.parametrize("order", ORDERS.values(), ids=ORDERS)
def test_players_stand_in_the_order_of_a_score(order: str) -> None:
    names = order.split()
    mixed = random.Random(7).sample(names, len(names))
    assert mixed != names
    assert [player.name for player in in_score_order(band_of(mixed).players)] == names


def test_players_of_one_instrument_stand_as_the_piece_names_them() -> None:
    text = "players:\n  zoe: {instrument: trumpet}\n  tabla:\n  abe: {instrument: trumpet}\n"
    players = piece_of(text + LINE).players
    assert [player.name for player in in_score_order(players)] == ["zoe", "abe", "tabla"]


def test_every_family_of_the_catalogue_has_a_section() -> None:
    listed = [family for section in SECTIONS for family in section.families]
    assert len(listed) == len(set(listed))
    for name in instrument_names():
        found = instrument(name)
        assert found is not None and found.family in listed
        assert section_of(found).name


def test_every_instrument_has_a_short_name_of_its_own() -> None:
    found = [one for name in instrument_names() if (one := instrument(name)) is not None]
    assert len({one.short for one in found}) == len(found)
    assert all(len(one.short) <= 8 for one in found)


@pytest.mark.parametrize(
    ("players", "shorts"),
    [
        ("  tenor-sax:\n  trumpet:\n  drum-kit:\n", ["T. Sx.", "Tpt.", "D. Kit"]),
        # A player named otherwise keeps the name; two instruments of a kind keep their numbers.
        ("  voice:\n  trumpet 1: {instrument: trumpet}\n", ["Tpt. 1", "Voice"]),
        ("  Rosamunde: {instrument: cello}\n", ["Rosamu."]),
        ("  Ana Lima: {instrument: cello}\n", ["Ana Lima"]),
        ("  Ana de Lima: {instrument: cello}\n", ["A. d. L."]),
        # No two are alike.
        (
            "  Christine: {instrument: cello}\n  Christian: {instrument: cello}\n",
            ["Christine", "Christian"],
        ),
    ],
)
def test_short_names(players: str, shorts: list[str]) -> None:
    ordered = in_score_order(piece_of(f"players:\n{players}{LINE}").players)
    assert short_names(ordered) == shorts


WORDS = """\
players: {voice: , trumpet: , guitar: {plays: voicings}, double-bass: {plays: pedal}, tabla: }
lines:
  head: {sargam: "S R G m || S - - -", words: "one two three four five"}
form: [play: head, play: head]
"""


def test_words_stand_under_who_sings_and_names_under_who_plays_a_melody() -> None:
    sheets = {sheet.reader.player: sheet for sheet in score_sheets(Band(piece_of(WORDS)))
              if sheet.reader}  # fmt: skip
    words = {
        name: [note.word for strain in sheet.strains for note in strain.notes if note.word]
        for name, sheet in sheets.items()
    }
    assert words["voice"][:5] == ["one", "two", "three", "four", "five"]
    assert not any(words[name] for name in words if name != "voice")
    named = {name for name, sheet in sheets.items() if sheet.names != "none"}
    assert {"voice", "trumpet"} <= named
    assert not named & {"guitar", "double-bass"}
