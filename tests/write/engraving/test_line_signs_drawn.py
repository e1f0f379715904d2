"""Slurs, words, hairpins and cut-offs on engraved systems: free of each other and of the music."""

from __future__ import annotations

import re

import pytest
from support.boxes import Box, boxes, boxes_outside, overlaps
from support.chart_systems import systems_by_letter
from support.making import load_text, piece_of
from support.signed_pieces import signed_piece

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.piece.model import Piece
from cyclechart.write.files.paper_sizes import PAPERS
from cyclechart.write.paper.chart_music import score_music
from cyclechart.write.paper.page_plan import PageWish

DENSE = """\
players:
  flute: {plays: melody, octave: 1}
  clarinet: {plays: melody}
  piano: {plays: voicings}
  drum-kit: {plays: theka}
lines:
  head:
    words: all the wa- ters of the del- ta
    sargam: |
      (!"all together, no vibrato, and short"!!mp!S-R GmP dPm GR) | !cresc!S'ndPm
      (G'R'S' n!accent!dP) [m G R]x3 | [(P d n S' n d)]x2 !mf!S/2 ||
      [!"bell tones"!!dim!S R G m P d]x3/2 | (GmPd !staccato!P) z !gamak!G | ({R}G m~ P) !cut!S/2
form:
  - play: head
    times: 4
"""
CYCLE = "{beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}"


def systems_of(piece: Piece, *, score: bool = True) -> list[str]:
    """The systems of the lead sheet, of each part and, with ``score``, of the score."""
    band = Band(piece)
    sheets = [sheet_of(piece)]
    sheets += [part_sheet(band, player) for player in piece.players if player.role.reads_staff]
    found = [svg for sheet in sheets for svgs in systems_by_letter(sheet).values() for svg in svgs]
    if score:
        parts = score_sheets(band)
        music = score_music(parts, parts[0], PAPERS["a4"], PageWish(pairs=False))
        found += [svg for svgs in music.systems for svg in svgs]
    return found


def check_free(svg: str) -> None:
    assert not overlaps(svg)
    assert not boxes_outside(svg)


def test_nothing_of_a_dense_piece_overlaps() -> None:
    systems = systems_of(piece_of(DENSE, cycle=CYCLE))
    assert len(systems) >= 6
    for svg in systems:
        check_free(svg)
    drawn = "".join(systems)
    for kind in ("slur", "hairpin", "caesura"):
        assert f'class="{kind}"' in drawn, kind


@pytest.mark.parametrize("seed", [0, 2, 4, 7])
def test_nothing_of_random_pieces_with_signs_overlaps(seed: int) -> None:
    piece = load_text(signed_piece(seed)).piece
    assert piece is not None
    for svg in systems_of(piece, score=False):
        check_free(svg)


def boxes_of(sargam: str) -> tuple[Box, ...]:
    text = f"lines:\n  head:\n    sargam: |\n      {sargam}\n"
    (systems,) = systems_by_letter(sheet_of(piece_of(text, cycle="keherwa", mode="kafi"))).values()
    return boxes(systems[0])


def test_a_hairpin_keeps_clear_of_the_dynamics_at_its_ends() -> None:
    drawn = boxes_of("!p!!cresc!S R g m P m g R || !f!S - - - - - - -")
    dynamics = [box for box in drawn if box.kind == "dynamics"]
    hairpin = [box for box in drawn if box.kind == "hairpin"]
    assert len(dynamics) == 2 and hairpin
    assert dynamics[0].x1 < min(box.x0 for box in hairpin)
    assert max(box.x1 for box in hairpin) < dynamics[1].x0


def test_a_cut_off_stands_over_the_staff_at_the_end_of_its_note() -> None:
    drawn = boxes_of("S R g !cut!m z P m g || S - - - - - - -")
    (staff, *_) = (box for box in drawn if box.kind == "staff")
    (caesura,) = (box for box in drawn if box.kind == "ornament")
    heads = sorted(box.x0 for box in drawn if box.kind == "notehead")
    (rest, *_) = (box for box in drawn if box.kind == "rest")
    assert caesura.y1 <= staff.y0
    assert heads[3] < caesura.x0 and caesura.x1 <= rest.x0


def test_a_dynamic_before_a_word_is_set_in_letters() -> None:
    bars = "S R g m P m g R || " * 3
    text = f"lines:\n  head:\n    sargam: |\n      !pp!!cresc!{bars} !f!S - - - - - - -\n"
    sheet = sheet_of(piece_of(text, cycle="keherwa", mode="kafi"))
    (systems,) = systems_by_letter(sheet).values()
    assert "pp\u00a0" in systems[0] and "cresc." in systems[0]
    assert not re.search("[\ue520-\ue54f]", "".join(systems)), "no sign that the page's fonts lack"
