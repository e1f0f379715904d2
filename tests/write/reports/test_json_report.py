"""The report that other programs read: its keys, and where each edit goes."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from support.making import findings_of, load_text, with_heading

from cyclechart.finding import Edit, Finding, Place, Spot, Suggestion
from cyclechart.text.edits import with_edits
from cyclechart.text.source import Source
from cyclechart.write.reports.json_report import as_json


def test_json_has_the_keys_that_others_read() -> None:
    edit = Edit(Spot("a.yaml", 3, 5, 0), "begins: 2\n    ")
    finding = Finding(
        "late-landing", "warning", Spot("a.yaml", 3, 7), "it lands late",
        (Suggestion("begins: 2", (edit,)), Suggestion("by hand")),
        Place("head", 0, Fraction(7, 2)),
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
                "try": ["begins: 2", "by hand"],
                "edits": [
                    [
                        {
                            "line": 3,
                            "column": 5,
                            "end_line": 3,
                            "end_column": 5,
                            "text": "begins: 2\n    ",
                        }
                    ],
                    [],
                ],
                "liberty": None,
            }
        ],
    }


def _applied(text: str, edits: list[dict[str, Any]]) -> str:
    """The text with edits done as another program would: by lines and columns alone."""
    rows = text.split("\n")
    for edit in sorted(edits, key=lambda one: (one["line"], one["column"]), reverse=True):
        first, last = rows[edit["line"] - 1], rows[edit["end_line"] - 1]
        new = first[: edit["column"] - 1] + edit["text"] + last[edit["end_column"] - 1 :]
        rows[edit["line"] - 1 : edit["end_line"]] = new.split("\n")
    return "\n".join(rows)


@given(st.integers(0, 30), st.integers(0, 30), st.text("ab\n", max_size=5))
def test_a_program_that_does_the_edits_by_line_and_column_has_our_text(
    at: int, width: int, new: str
) -> None:
    text = "title: ♭ A\n\nlines:\n  head: S R\n"
    source = Source.of("a.yaml", text)
    at, width = min(at, len(text)), min(width, len(text) - min(at, len(text)))
    spot = source.spot(at)
    edit = Edit(Spot("a.yaml", spot.line, spot.column, width), new)
    finding = Finding("x", "error", spot, "here", (Suggestion("so", (edit,)),))
    report = json.loads(as_json([finding], 1, (), {"a.yaml": source}))
    assert _applied(text, report["findings"][0]["edits"][0]) == with_edits(source, [edit])


def test_edits_of_real_findings_are_done_alike() -> None:
    text = with_heading(
        "mode: bhimpalasi\ntempp: 5\nlines:\n  head: {sargam: S g m P D n S'}\n"
        "  b:\n    sargam: - G\n"
    )
    found = findings_of(text)
    source = load_text(text).sources["test.yaml"]
    report = json.loads(as_json(found, 1, (), {"test.yaml": source}))
    edited = 0
    for finding, plain in zip(found, report["findings"], strict=True):
        for suggestion, edits in zip(finding.suggestions, plain["edits"], strict=True):
            # Of two that put something in at one place the first comes first.
            places = [(one["line"], one["column"]) for one in edits]
            if edits and len(set(places)) == len(places):
                edited += 1
                assert _applied(text, edits) == with_edits(source, suggestion.edits)
    assert edited > 3
