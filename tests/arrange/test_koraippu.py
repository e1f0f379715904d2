"""Trades that halve (koraippu), and lines that come home after the first beat, on the timeline."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import findings_of, piece_of, with_heading

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.bars import bars_of
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.arrange.sheet.road_map import road_map_of
from cyclechart.arrange.unroller import unroll
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Trade

F = Fraction

BAND = """\
players:
  alto-sax: {plays: melody}
  mridangam: {plays: theka}
  double-bass: {plays: pedal}
  tanpura: {plays: drone}
"""


def trading(cycle: str, cycles: int = 8, who: str = "alto-sax, mridangam", more: str = "") -> Piece:
    return piece_of(
        f"{BAND}lines:\n  head: {{lands: free, sargam: S}}\n"
        f"form:\n  - trade: [{who}]\n    cycles: {cycles}\n    halves: true\n{more}",
        cycle=cycle,
    )


def parts_of(piece: Piece) -> dict[str, Sheet]:
    band = Band(piece)
    return {player.name: part_sheet(band, player) for player in piece.players}


def shares(piece: Piece) -> list[Fraction]:
    (trade,) = [step for step in piece.form if isinstance(step, Trade)]
    return list(trade.shares)


def test_a_koraippu_halves_and_comes_together() -> None:
    # rasikas.org, viewtopic f=8&t=32252 (p345375): "First every Avartan , then every half-avartan".
    piece = trading("adi")
    assert shares(piece) == [8, 4, 2, 1, F(1, 2)]
    stretches = [one for one in unroll(piece).stretches if one.kind == "metered"]
    cycles = [(one.end - one.start) / 8 for one in stretches]
    assert cycles == [8, 8, 4, 4, 2, 2, 1, 1, 1, 1]
    assert [one.soloists for one in stretches[:8]] == [("alto-sax",), ("mridangam",)] * 4
    split, together = stretches[8:]
    assert split.split
    assert together.together
    assert split.soloists == together.soloists == ("alto-sax", "mridangam")
    start = split.start
    assert split.turns == (
        ("alto-sax", start, start + 4), ("mridangam", start + 4, start + 8),
    )  # fmt: skip
    assert split.soloists_at(start + F(7, 2)) == ("alto-sax",)
    assert split.soloists_at(start + 4) == ("mridangam",)
    assert all(bar.whole for bar in bars_of(unroll(piece)))


@pytest.mark.parametrize(
    ("cycle", "cycles", "who", "halves"),
    [
        # A half of five or of seven is no whole beats; three times a half is no whole cycles.
        ("khanda-chapu", 8, "alto-sax, mridangam", [8, 4, 2, 1]),
        ("misra-chapu", 4, "alto-sax, mridangam", [4, 2, 1]),
        ("adi", 4, "alto-sax, mridangam, double-bass", [4, 2, 1]),
        ("adi", 6, "alto-sax, mridangam", [6, 3, F(3, 2)]),
        ("adi", 1, "alto-sax, mridangam", [1, F(1, 2)]),
        ("{beats: 5 1/2, sections: [3, 2 1/2]}", 2, "alto-sax, mridangam", [2, 1]),
    ],
)
def test_it_halves_as_far_as_the_cycle_allows(
    cycle: str, cycles: int, who: str, halves: list[Fraction]
) -> None:
    piece = trading(cycle, cycles, who)
    assert shares(piece) == halves
    (trade,) = piece.form
    assert isinstance(trade, Trade)
    timeline = unroll(piece)
    played = sum(one.end - one.start for one in timeline.stretches if one.kind == "metered")
    assert played == trade.all_cycles * piece.cycle.beats
    assert trade.all_cycles == sum(halves) * len(trade.players) + 1


@pytest.mark.parametrize(
    ("trade", "says"),
    [
        ("cycles: 1, halves: true", "1 cycle each cannot be halved here"),
        ("cycles: 5, halves: true", "5 cycles each cannot be halved here"),
        ("cycles: 8, halves: maybe", "halves must be true or false, not 'maybe'"),
    ],
)
def test_what_cannot_be_halved_gets_a_finding(trade: str, says: str) -> None:
    text = (
        f"{BAND}lines:\n  head: {{lands: free, sargam: S}}\n"
        f"form:\n  - {{trade: [alto-sax, mridangam], {trade}}}\n"
    )
    found = findings_of(with_heading(text, cycle="khanda-chapu"))
    assert any(says in finding.message for finding in found)
    solo = text.replace("trade: [alto-sax, mridangam]", "solo: alto-sax")
    assert any("'halves' does not go with 'solo'" in one.message for one in findings_of(
        with_heading(solo, cycle="adi")
    ))  # fmt: skip


def test_the_drums_keep_time_under_the_other_s_half_alone() -> None:
    piece = trading("adi", 1)
    split, together = [one for one in unroll(piece).stretches if one.kind == "metered"][2:]
    score = arrange(piece)
    drums = next(part for part in score.parts if part.name == "mridangam")
    hits = [hit.start for hit in drums.hits]
    _, *mine = split.turns[1]
    assert not [at for at in hits if mine[0] <= at < mine[1]]
    assert not [at for at in hits if together.start <= at < together.end]
    _, *theirs = split.turns[0]
    assert [at for at in hits if theirs[0] <= at < theirs[1]]
    bass = next(part for part in score.parts if part.name == "double-bass")
    assert [one for one in bass.sounds if mine[0] <= one.start < mine[1]]


def test_a_part_says_whose_half_it_is_and_that_all_play() -> None:
    piece = trading("adi", 2)
    for name, at in (("alto-sax", 0), ("mridangam", 4)):
        sheet = parts_of(piece)[name]
        (strain,) = [one for one in sheet.strains if one.name.startswith("trade")]
        texts = [(note.start, note.text) for note in strain.notes if note.text]
        # The last cycles are the one that is shared out and the one together.
        (half, word), (last, every) = texts[-2:]
        assert (word, every) == ("solo", "together")
        assert half % 8 == at
        assert last % 8 == 0
    box = road_map_of(piece, unroll(piece))[0]
    assert box.detail == "2, 1 and 1/2 cycles each, 1 together"


EDUPPU = """\
eduppu: 1 1/2
lines:
  head: {sargam: S R G m P d n d}
  closing: {cadence: {sargam: P m G R S}}
form:
  - play: head
    times: 2
  - groove: 1
  - play: closing
"""


def test_a_line_sounds_from_its_eduppu_and_hands_over_on_sam() -> None:
    piece = piece_of(EDUPPU, cycle="adi")
    timeline = unroll(piece)
    starts = [placed.start for placed in timeline.placed_lines]
    assert starts[:2] == [8 + F(3, 2), 16 + F(3, 2)]
    metered = [one for one in timeline.stretches if one.kind == "metered"]
    assert all(one.start % 8 == 0 for one in metered)
    assert timeline.closing is not None
    assert timeline.closing % 8 == F(3, 2)
    assert all(bar.whole for bar in bars_of(timeline)[:-1])
    last = timeline.placed_lines[-1]
    assert last.start_of(last.line.notes[-1]) == timeline.closing


def test_the_heading_and_the_remarks_say_the_eduppu() -> None:
    piece = piece_of(EDUPPU.replace("head: {", "head: {eduppu: 2, "), cycle="adi")
    sheet = sheet_of(piece)
    assert sheet.eduppu == F(3, 2)
    head = next(strain for strain in sheet.strains if strain.name == "head")
    assert "eduppu 2" in head.remark
    assert "from beat" not in head.remark
    assert head.measures[0].start == 0  # written from sam, with a rest before it
    assert head.notes[0].start == 2
    closing = next(strain for strain in sheet.strains if strain.name == "closing")
    assert "eduppu" not in closing.remark
    assert all(one.eduppu == F(3, 2) for one in parts_of(piece).values())


@settings(max_examples=30, deadline=None)
@given(
    eduppu=st.sampled_from([F(0), F(1, 2), F(3, 2), F(3), F(7)]),
    times=st.integers(1, 3),
    begins=st.sampled_from([None, 1, 7]),
)
def test_every_step_begins_on_sam_whatever_the_eduppu(
    eduppu: Fraction, times: int, begins: int | None
) -> None:
    said = f"{eduppu.numerator}/{eduppu.denominator}"
    own = f"begins: {begins}, " if begins else ""
    piece = piece_of(
        f"eduppu: {said}\nlines:\n  head: {{{own}sargam: (S)*8}}\n  tail: {{sargam: S R G m P}}\n"
        f"form:\n  - play: head\n    times: {times}\n  - groove: 2\n  - play: head\n",
        cycle="adi",
    )
    timeline = unroll(piece)
    body = [placed for placed in timeline.placed_lines if placed.line.name == "head"]
    for placed in body:
        standing = placed.line.standing(piece.cycle)
        assert (placed.start - standing.offset) % 8 == 0
        assert (placed.start - (placed.line.begins - 1)) % 8 == 0
    for one in timeline.stretches:
        assert one.start % 8 == 0
    arrange(piece)
