"""Findings as people see them. The rendered text is kept as a golden file."""

from __future__ import annotations

from pathlib import Path

from support.making import ROOT, load_text

from cyclechart.finding import Finding, Spot
from cyclechart.rules.judge import in_order, judge
from cyclechart.text.source import Source
from cyclechart.write.terminal.findings import as_text, summary

GOLDEN = ROOT / "tests" / "golden" / "low-tide.txt"


def test_the_broken_piece_is_told_as_the_golden_file_has_it() -> None:
    data = (ROOT / "pieces" / "broken" / "low-tide.yaml").read_bytes()
    result = load_text(data)
    assert result.piece is not None
    findings = in_order([*result.findings, *judge(result.piece)])
    told = as_text(findings, result.sources) + summary(findings, 1) + "\n"
    assert told == GOLDEN.read_text("utf-8")


def test_a_long_line_is_shown_around_its_place_and_control_characters_are_not_printed() -> None:
    text = "a" * 500 + "X" + "\x1b[31m" + "b" * 500
    finding = Finding("bad-cell", "error", Spot("f", 1, 501), "here")
    shown = as_text([finding], {"f": Source.of("f", text)}).splitlines()
    assert len(shown[1]) <= 110
    assert shown[1][shown[2].index("^")] == "X"
    assert "\x1b" not in shown[1]


def test_a_finding_in_a_file_that_is_not_at_hand_still_has_its_place() -> None:
    finding = Finding("bad-cell", "error", Spot(str(Path("x.yaml")), 4, 2), "here")
    assert as_text([finding], {}).startswith("x.yaml:4:2: error bad-cell\n")
