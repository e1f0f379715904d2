"""The names of players in the list of parts and in the box over a part."""

from __future__ import annotations

import pytest

from cyclechart.arrange.sheet.model import Reader
from cyclechart.write.musicxml.part_list import player_label


@pytest.mark.parametrize(
    ("player", "instrument", "label"),
    [
        ("tenor-sax", "Tenor Saxophone", "Tenor Saxophone"),
        ("voice", "Alto", "Voice (alto)"),
        ("drum-kit", "Drum Kit", "Drum Kit"),
        ("trumpet", "Trumpet in B♭", "Trumpet in B♭"),
        ("trumpet-2", "Trumpet in B♭", "Trumpet 2 in B♭"),
        ("flute-2", "Flute", "Flute 2"),
        ("alto-sax-1", "Alto Saxophone", "Alto Saxophone 1"),
        ("reed", "Clarinet in B♭", "Reed (clarinet in B♭)"),
        ("Marit", "Double Bass", "Marit (double bass)"),
        ("बाँसुरी", "Bansuri", "बाँसुरी (bansuri)"),
    ],
)
def test_a_player_is_called_so_that_two_of_one_instrument_are_told_apart(
    player: str, instrument: str, label: str
) -> None:
    reader = Reader(
        player=player, instrument=instrument, clef="treble", transposes=0, staff="pitched"
    )
    assert player_label(reader) == label
