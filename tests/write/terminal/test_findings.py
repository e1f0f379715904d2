"""Findings as people and programs see them. The rendered text is kept as a golden file."""

from __future__ import annotations

import json
from pathlib import Path

from support.making import ROOT, load_text

from cyclechart.finding import Finding, Place, Spot, Suggestion
from cyclechart.rules.judge import in_order, judge
from cyclechart.text.source import Source
from cyclechart.write.terminal.findings import as_json, as_text, summary

GOLDEN = ROOT / "tests" / "golden" / "low-tide.txt"


def test_the_broken_piece_is_told_as_the_golden_file_has_it() -> None:
    data = (ROOT / "pieces" / "broken" / "low-tide.yaml").read_bytes()
    result = load_text(data)
    assert result.piece is not None
    findings = in_order([*result.findings, *judge(result.piece)])
    told = as_text(findings, result.sources) + summary(findings, 1) + "\n"
    assert told == GOLDEN.read_text("utf-8")


def test_json_has_the_keys_that_others_read() -> None:
    from fractions import Fraction

    finding = Finding(
        "late-landing", "warning", Spot("a.yaml", 3, 7), "it lands late",
        (Suggestion("begins: 2"),), Place("head", 0, Fraction(7, 2)),
    )  # fmt: skip
    report = json.loads(as_json([finding], 2))
    assert report == {
        "pieces": 2,
        "findings": [
            {
                "rule": "late-landing",
                "severity": "warning",
                "file": "a.yaml",
                "line": 3,
                "column": 7,
                "place": {"in": "head", "cycle": 0, "beat": "3 1/2"},
                "message": "it lands late",
                "try": ["begins: 2"],
                "liberty": None,
            }
        ],
    }


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
