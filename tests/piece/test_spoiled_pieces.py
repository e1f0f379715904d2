"""Pieces for a whole band with wrong, huge and odd values: findings, never an exception."""

from __future__ import annotations

import pytest
from support.band_pieces import band_piece, spoiled
from support.making import findings_of, with_heading

from cyclechart.piece.line_limits import MAX_DERIVED_NOTES


@pytest.mark.parametrize("seed", range(60))
def test_a_spoiled_piece_gets_findings_in_places_of_the_file(seed: int) -> None:
    text = spoiled(band_piece(seed), seed)
    for finding in findings_of(text):
        assert 1 <= finding.spot.line <= text.count("\n") + 1, finding


@pytest.mark.parametrize("seed", range(60, 72))
def test_a_piece_that_is_not_spoiled_can_be_read_whole(seed: int) -> None:
    wrong = [finding for finding in findings_of(band_piece(seed)) if finding.severity == "error"]
    assert {finding.rule for finding in wrong} <= {"out-of-range"}


def test_a_riff_of_a_64th_is_refused_where_it_loops_for_hours() -> None:
    text = (
        'lines: {tiny: {sargam: "S/64", lands: free}}\n'
        "form:\n  - {groove: %d, under: {flute: tiny}}\n"
    )
    players = "players: {flute: , tabla: }\n"
    found = findings_of(with_heading(players + text % 1000))
    assert any("1,280,002 notes" in one.message for one in found if one.rule == "too-long")
    assert "too-long" not in {one.rule for one in findings_of(with_heading(players + text % 100))}


def test_few_words_cannot_ask_for_many_notes() -> None:
    lines = ["  a0: {sargam: (S R G m P d n S')*200}"]
    lines += [f"  a{number}: {{from: a{number - 1}, move: 1}}" for number in range(1, 20)]
    found = findings_of(with_heading("lines:\n" + "\n".join(lines) + "\n", cycle="keherwa"))
    (refused,) = [one for one in found if one.rule == "too-long"]
    assert f"at most {MAX_DERIVED_NOTES:,}" in refused.message
    assert "20,800 notes" in refused.message
