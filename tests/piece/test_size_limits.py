"""Sizes beyond any piece: reported, and read on without a hang."""

from __future__ import annotations

import pytest
from support.making import findings_of, with_heading


def rules_of(text: str) -> list[str]:
    return [finding.rule for finding in findings_of(text)]


def test_slow_groups_in_slow_groups_are_one_finding() -> None:
    text = "lines:\n  h:\n    sargam: '[[[[[S R -]x1/64]x1/64]x1/64]x1/64]x1/64'\n"
    found = findings_of(with_heading(text, cycle="{beats: 3}"))
    assert [(f.rule, f.spot.line, f.spot.column) for f in found] == [("too-long", 8, 19)]


def test_lines_played_out_without_a_form_are_measured_too() -> None:
    one = "[[[S R S - ]x1/16]x1/16]x1/16"
    lines = "".join(f"  line-{n}:\n    sargam: '{one}'\n" for n in range(12))
    found = findings_of(with_heading(f"lines:\n{lines}", cycle="{beats: 4}"))
    told = [finding for finding in found if finding.rule == "too-long"]
    assert [(finding.spot.line, finding.spot.column) for finding in told] == [(6, 1)]
    assert "with all repeats, the lines have" in told[0].message


@pytest.mark.parametrize(
    "form",
    [
        # Two notes, but each pass waits a cycle of 256 beats for its pickup.
        "cycle: {beats: 256, sections: [256]}\nlines:\n"
        "  a: {begins: 256, sargam: S S}\nform:\n" + "  - {play: a, times: 200}\n" * 5,
        "lines:\n  a: {sargam: S}\nform:\n" + "  - {free: melody, seconds: 3600, times: 200}\n",
    ],
    ids=["pickups", "free"],
)
def test_a_form_that_would_play_for_days_is_refused(form: str) -> None:
    assert "too-long" in [finding.rule for finding in findings_of(with_heading(form))]


def test_lines_that_together_have_more_notes_than_any_piece_are_refused() -> None:
    row = "(S R G m P d n)*700"
    lines = "".join(f"  l{number}: {{sargam: {row}}}\n" for number in range(21))
    told = [f for f in findings_of(with_heading(f"lines:\n{lines}")) if f.rule == "too-long"]
    assert any("a piece has at most 100,000" in finding.message for finding in told)
