"""The parts of bands that trade in any order, read by the rules of MusicXML: the timeline."""

from __future__ import annotations

import pytest
from support.bands import STAND_SEEDS, band_of, cached_part
from write.musicxml.test_parts_written import check_part, valid_part


@pytest.mark.parametrize("seed", [*STAND_SEEDS, 2, 9, 18])
def test_a_part_read_with_its_repeats_is_the_timeline(seed: int) -> None:
    band = band_of(f"stand-{seed}")
    for player in band.piece.players:
        if player.plays != "drone":
            check_part(band.piece, band, player, valid_part(cached_part(band, player)))
