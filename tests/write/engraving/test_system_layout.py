"""The layout of a strain, and that all that is planned is drawn."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.bands import band_of
from support.making import DEMO_BOOK, piece_of

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.write.engraving.strain_sizes import measure_score, measure_strain
from cyclechart.write.engraving.system_breaks import ROOMY
from cyclechart.write.engraving.system_layout import STRETCH, lay_out
from cyclechart.write.engraving.systems import draw

TEXT = (
    "players:\n  flute: {plays: melody}\n  alto-sax: {plays: melody}\n  tabla: {plays: theka}\n"
    "lines:\n  head:\n    sargam: |\n"
    "      S R G m P d n S' n d P m G R S z | S R G m P d n S' n d P m G R S z\n"
    "form:\n  - {play: head, tempo: 100}\n  - {play: head, cycle: rupak}\n"
)


@pytest.mark.parametrize("share", [0.98, 0.9, 0.8])
def test_a_system_that_is_too_full_is_drawn_whole_and_smaller(share: float) -> None:
    sheet = sheet_of(piece_of(TEXT, cycle="tintal"))
    measured = measure_strain(sheet, sheet.strains[0], first=True)
    wanted = (sum(measured.widths) + measured.lead) // 10
    # A plan that takes the line for just long enough, where it is not.
    layout = replace(lay_out(measured, 10_000), breaks=(), line=int(wanted * share), fullest=0.96)
    engraved = draw(layout)
    assert len(engraved.drawings) == 1
    assert len(engraved.drawings[0].groups["measure"]) == len(measured.measures)
    assert engraved.size < 1


def test_a_single_system_is_stretched_to_less_than_twice_what_it_wants() -> None:
    sheet = sheet_of(piece_of("lines:\n  head: {sargam: S R}\n", cycle="rupak"))
    measured = measure_strain(sheet, sheet.strains[0], first=True)
    layout = lay_out(measured, 1900, ragged=True)
    wants = sum(measured.widths)
    assert layout.width * 10 <= wants * STRETCH + measured.lead + 400
    assert layout.share < 1
    assert lay_out(measured, 1900).share == 1


@pytest.mark.parametrize("name", [path.stem for path in DEMO_BOOK])
def test_every_measure_that_is_planned_is_drawn(name: str) -> None:
    band = band_of(name)
    for player in band.piece.players[:3]:
        sheet = part_sheet(band, player)
        for strain in sheet.strains:
            if not strain.silent:
                layout = lay_out(measure_strain(sheet, strain, first=strain.first), 1900)
                drawn = sum(len(one.groups["measure"]) for one in draw(layout).drawings)
                assert drawn == len(layout.measured.measures), (player.name, strain.letter)
                assert layout.fullest <= ROOMY or layout.size < 1


def test_every_measure_of_a_score_is_drawn() -> None:
    sheets = score_sheets(Band(piece_of(TEXT, cycle="tintal")))
    for at in range(len(sheets[0].strains)):
        measured = measure_score(sheets, at, first=True, opening=at == 0)
        for line in (1500, 1900, 2600):
            drawn = sum(
                len(one.groups["measure"]) for one in draw(lay_out(measured, line)).drawings
            )
            assert drawn == len(measured.measures)


def test_a_measure_rest_that_begins_a_system_is_no_part_of_its_signs() -> None:
    sheets = score_sheets(Band(piece_of(TEXT, cycle="tintal")))
    silent = "  - {play: head, by: alto-sax}\n"
    text = TEXT.replace("form:\n", f"form:\n{silent}")
    resting = score_sheets(Band(piece_of(text, cycle="tintal")))
    both, one = (measure_score(some, 0, first=True) for some in (sheets, resting))
    assert one.lead == pytest.approx(both.lead, abs=400)
    assert min(one.widths) > 0


def test_cycles_of_rest_that_begin_a_part_are_no_part_of_its_signs() -> None:
    band = band_of("eel-market")
    sheet = part_sheet(band, band.piece.players[0])
    assert any(strain.measures[0].rests for strain in sheet.strains if strain.measures)
    for strain in sheet.strains:
        if not strain.silent:
            measured = measure_strain(sheet, strain, first=strain.first)
            assert 0 < measured.lead < 2500
            assert min(measured.widths) > 0
