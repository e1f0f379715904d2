"""``fermata`` on a step: its last stroke is held over the drone."""

from __future__ import annotations

from fractions import Fraction

import pytest
from support.making import findings_of, piece_of, with_heading

from cyclechart.arrange.arranger import Arrangement
from cyclechart.arrange.clock import clock_of
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.piece.model import Piece

BAND = """
cycle: keherwa
players:
  flute: {plays: melody}
  double-bass: {plays: pedal}
  drum-kit: {plays: theka}
  tabla: {plays: theka}
  tanpura: {plays: drone}
lines:
  head: {sargam: S R G m | P m G R || S}
  loop: {sargam: S R G m | P m G R}
"""


def held(form: str) -> Piece:
    return piece_of(f"{BAND}form:\n{form}")


@pytest.mark.parametrize(("says", "seconds"), [("true", 5), ("8", 8), ("2 1/2", Fraction(5, 2))])
def test_it_lasts_so_many_seconds_over_the_drone(says: str, seconds: Fraction) -> None:
    arrangement = Arrangement(held(f"  - {{play: head, fermata: {says}}}\n  - play: loop\n"))
    timeline = arrangement.timeline
    (hold,) = [one for one in timeline.stretches if one.label == "fermata"]
    clock = clock_of(timeline)
    length = clock.seconds(hold.end) - clock.seconds(hold.start)
    assert abs(length - seconds) < Fraction(1, 100_000)  # tempos are whole microseconds
    assert timeline.holds == (hold.start,)
    parts = {part.name: part for part in arrangement.score.parts}
    last = next(one for one in parts["flute"].sounds if one.start == hold.start)
    assert last.start + last.length == hold.end
    assert [one.start for one in parts["tanpura"].sounds if hold.start <= one.start < hold.end]
    for drummer in ("tabla", "drum-kit"):
        struck = {hit.start for hit in parts[drummer].hits if hold.start <= hit.start < hold.end}
        assert struck == {hold.start}, drummer
    bass = [one for one in parts["double-bass"].sounds if hold.start <= one.start < hold.end]
    assert [one.start for one in bass] == [hold.start]


def test_the_last_note_of_a_loop_is_held_on() -> None:
    arrangement = Arrangement(held("  - {play: loop, fermata: 4}\n  - play: head\n"))
    (hold,) = [one for one in arrangement.timeline.stretches if one.label == "fermata"]
    flute = next(part for part in arrangement.score.parts if part.name == "flute")
    last = max((one for one in flute.sounds if one.start < hold.start), key=lambda one: one.start)
    assert last.start + last.length == hold.end


def test_at_the_end_the_piece_closes_on_what_is_held() -> None:
    arrangement = Arrangement(held("  - {play: head, fermata: true}\n"))
    timeline = arrangement.timeline
    assert timeline.closing == timeline.holds[0] == 16
    assert timeline.landings == (16,)
    bass = next(part for part in arrangement.score.parts if part.name == "double-bass")
    assert len([one for one in bass.sounds if one.start == 16]) == 1


def test_on_paper_everybody_who_holds_has_the_sign() -> None:
    piece = held("  - {play: head, fermata: true}\n  - play: loop\n")
    band = Band(piece)
    for player in piece.players:
        if player.role.is_drone:
            continue
        strain = part_sheet(band, player).strains[1]
        assert (strain.letter, strain.name, strain.remark) == ("B", "fermata", "held, 5 s")
        assert all("fermata" in note.marks for note in strain.notes), player.name
        assert strain.notes, player.name


@pytest.mark.parametrize("says", ["maybe", "61", "-3", "[1]"])
def test_what_is_no_fermata_is_said(says: str) -> None:
    text = with_heading(f"{BAND}form:\n  - {{play: head, fermata: {says}}}\n")
    (found,) = [finding for finding in findings_of(text) if finding.severity == "error"]
    assert "fermata must be true" in found.message
