"""Advice on the form's changes of mode and Sa: where it is given; its phrases are clean."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from support.making import findings_of, load_text, piece_of, with_heading

from cyclechart.cli import cli
from cyclechart.finding import Finding
from cyclechart.rules.piece.mode_changes import change_of_mode

LINES = """lines:
  head: {sargam: "S G P D S' D P G R S"}
  low: {sargam: "S g m g S n, d, n, S -"}
"""
HEADING = {"mode": "bhupali", "tonic": "C"}


def advice(form: str) -> list[Finding]:
    piece = load_text(with_heading(f"{LINES}form:\n{form}", **HEADING)).piece
    assert piece is not None
    return list(change_of_mode.check(piece, change_of_mode))


@pytest.mark.parametrize(
    ("form", "at", "says"),
    [
        (
            "  - play: head\n  - {play: low, mode: malkauns, tonic: E}\n",
            1,
            ["here Bhupali on C becomes Malkauns on E; 5 tones are in both"],
        ),
        ("  - play: head\n  - {play: head, tonic: G}\n", 1, ["Bhupali on G; 4 tones are in both"]),
        (
            "  - play: head\n  - {play: low, mode: malkauns}\n  - {play: head, mode: bhupali}\n",
            2,
            ["becomes Malkauns on C; 1 tone is in both, and no phrase", "becomes Bhupali on C"],
        ),
        (
            "  - play: head\n  - {groove: 1, mode: malkauns, tonic: E}\n  - play: low\n"
            "  - {play: head, mode: bhupali, tonic: C}\n"
            "  - {play: low, mode: malkauns, tonic: E}\n",
            2,
            ["becomes Malkauns on E", "becomes Bhupali on C"],
        ),
    ],
)
def test_each_change_is_named_once(form: str, at: int, says: list[str]) -> None:
    found = advice(form)
    assert len(found) == at
    for finding, words in zip(found, says, strict=True):
        assert finding.severity == "advice"
        assert words in finding.message
        assert 1 <= len(finding.tries) <= 2


@pytest.mark.parametrize(
    "form",
    [
        "  - play: head\n  - {play: head, tempo: 120, dynamics: p}\n",
        "  - {play: low, mode: malkauns}\n  - play: low\n",
        "  - play: head\n  - {play: head, mode: no-such-mode}\n",
        "  - play: head\n  - {play: head, mode: Bhupali, tonic: C}\n",
    ],
)
def test_where_nothing_changes_nothing_is_said(form: str) -> None:
    assert advice(form) == []


CHANGES = [
    ("bhupali", "malkauns", "E"), ("yaman", "marwa", "C"), ("kafi", "yaman", "Eb"),
    ("todi", "multani", "C"), ("bhimpalasi", "charukeshi", "C"), ("marwa", "puriya", "C"),
]  # fmt: skip
_TRY = re.compile(r"lead over with (.*?)(?:, which is (.*?) on the new Sa)? \(")
_OF_MOVEMENT = {
    "foreign-tone", "left-out-going-up", "left-out-coming-down", "turn-skipped",
    "turns-on-left-out", "weak-rest",
}  # fmt: skip


@pytest.mark.parametrize(("first", "second", "tonic"), CHANGES)
def test_the_phrases_offered_are_clean_in_a_piece_in_each_mode(
    first: str, second: str, tonic: str
) -> None:
    form = f"form:\n  - play: head\n  - {{play: head, mode: {second}, tonic: {tonic}}}\n"
    piece = piece_of("lines: {head: {sargam: S}}\n" + form, mode=first, tonic="C")
    (found,) = change_of_mode.check(piece, change_of_mode)
    for offered in found.tries:
        match = _TRY.match(offered)
        assert match is not None, offered
        before, after = match[1], match[2] or match[1]
        for mode, phrase in ((first, before), (second, after)):
            text = with_heading(
                f'lines: {{head: {{sargam: "{phrase}", lands: free}}}}\n', mode=mode
            )
            told = {finding.rule for finding in findings_of(text)}
            assert not told & (_OF_MOVEMENT | {"bad-cell", "unreadable"}), (mode, phrase)


def test_check_says_it_only_when_asked(tmp_path: Path) -> None:
    path = tmp_path / "piece.yaml"
    form = "form:\n  - play: head\n  - {play: low, mode: malkauns, tonic: E}\n"
    path.write_text(with_heading(LINES + form, **HEADING), "utf-8")

    def rules(*words: str) -> list[str]:
        result = CliRunner().invoke(cli, ["check", str(path), "--format", "json", *words])
        return [finding["rule"] for finding in json.loads(result.stdout)["findings"]]

    assert "change-of-mode" not in rules()
    assert rules("--theory").count("change-of-mode") == 1
    assert CliRunner().invoke(cli, ["check", str(path), "--theory"]).exit_code == 0
