"""Strokes are written alike in the lead sheet and in the parts: a held one ends with its beat.

Percussion that does not ring is written in short values and rests (K. Stone, Music Notation in the
Twentieth Century, Percussion: from memory).
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from support.making import piece_of

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.stroke_lengths import stroke_length
from cyclechart.theory.cycle import Cycle

ODD = Cycle(name="", beats=Fraction(23, 2), sections=(Fraction(7, 2), Fraction(8)), stressed=())
Times = list[tuple[Fraction, Fraction]]


@pytest.mark.parametrize(
    ("at", "length", "written"),
    [
        ("0", "1", "1"),
        ("0", "3", "1"),
        ("1/2", "3/2", "1/2"),
        ("1/2", "1", "1"),  # a syncopation is no held stroke
        ("3/4", "5/4", "1/4"),
        ("3", "2", "1/2"),  # the half beat that ends the section
        ("7/2", "2", "1"),  # beats are counted afresh from it
        ("29/2", "4", "1/2"),  # in the next cycle
        ("-1/2", "2", "1/2"),  # in a pickup
    ],
)
def test_a_stroke_of_more_than_a_beat_ends_at_the_beat_line(
    at: str, length: str, written: str
) -> None:
    assert stroke_length(Fraction(length), Fraction(at), ODD) == Fraction(written)


@pytest.mark.parametrize(
    "strokes",
    [
        "taka - dha dha | dha - - - | ta -ka - dha | tirakita - - ta || dha",
        "dha - - taka | - - dha - | -ta - - ka | tirakita - taka - || dha",
    ],
)
def test_lead_sheet_and_part_have_the_same_values(strokes: str) -> None:
    piece = piece_of(
        "cycle: tintal\nplayers:\n  tabla: {plays: theka}\n"
        f"lines:\n  roll: {{strokes: {strokes}}}\nform:\n  - play: roll\n"
    )
    lead = sheet_of(piece).strains[0].notes
    part = part_sheet(Band(piece), piece.players[0]).strains[0].notes
    in_lead: Times = [(note.start, note.length) for note in lead]
    in_part: Times = [(note.start, note.length) for note in part if note.syllable != "/"]
    assert in_lead == in_part
    assert all(length <= 1 for _, length in in_lead)
