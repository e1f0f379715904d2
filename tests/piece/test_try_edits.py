"""What the reader suggests is done in the file: each example is read and found to be mended."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from support.making import load_text, with_heading

from cyclechart.finding import Finding
from cyclechart.text.edits import with_edits

LINE = "lines:\n  head:\n    sargam: S R | G m P | d n | S' n d\n"
CASES = yaml.safe_load(Path(__file__).with_name("try-edits.yaml").read_text("utf-8"))


def _findings(text: str) -> list[Finding]:
    return [one for one in load_text(text).findings if one.severity != "advice"]


def _edited(text: str, finding: Finding, number: int = 0) -> str:
    edits = finding.suggestions[number].edits
    assert edits, finding
    return with_edits(load_text(text).sources["test.yaml"], edits)


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['rule']}: {case['wrong'].strip()}")
def test_the_first_thing_to_try_is_done_in_the_file(case: dict[str, Any]) -> None:
    rule, above = case["rule"], LINE if case.get("line") else ""
    text, right = with_heading(above + case["wrong"]), with_heading(above + case["right"])
    finding = next(one for one in _findings(text) if one.rule == rule)
    edited = _edited(text, finding)
    assert edited == right
    left = [one for one in _findings(edited) if one.rule == rule]
    assert len(left) < len([one for one in _findings(text) if one.rule == rule])


@pytest.mark.parametrize("key", ["title", "tonic", "mode", "cycle", "tempo"])
def test_a_key_that_is_missing_comes_in_the_usual_order(key: str) -> None:
    whole = with_heading(LINE)
    text = "".join(row for row in whole.splitlines(keepends=True) if not row.startswith(key))
    (finding,) = [one for one in _findings(text) if one.rule == "missing-key"]
    edited = _edited(text, finding)
    order = [row.split(":")[0] for row in edited.splitlines() if not row.startswith(" ")]
    assert order == [row.split(":")[0] for row in whole.splitlines() if not row.startswith(" ")]
    assert not [one for one in _findings(edited) if one.rule == "missing-key"]


@pytest.mark.parametrize(
    ("tonic", "sharp", "apart"),
    [
        ("F #", "tonic: F#\n", "tonic: F\n"),
        ("F # for the horns", "# for the horns\ntonic: F#\n", "# for the horns\ntonic: F\n"),
    ],
)
def test_a_sharp_lost_to_a_comment_is_one_or_none(tonic: str, sharp: str, apart: str) -> None:
    text = with_heading(LINE, tonic=tonic)
    (finding,) = [one for one in _findings(text) if one.rule == "lost-to-comment"]
    assert sharp in _edited(text, finding)
    assert apart in _edited(text, finding, 1)
    for number in (0, 1):
        assert not _findings(_edited(text, finding, number))


def test_a_phrase_cut_at_its_comma_is_quoted() -> None:
    mode = "{ascent: S R G m P d n S', descent: S' n d P m G R S, phrases: [n, R G, m P]}"
    text = with_heading(LINE, mode=mode)
    (finding,) = [one for one in _findings(text) if one.rule == "one-tone-phrase"]
    assert 'phrases: ["n, R G", m P]' in _edited(text, finding)


def test_what_only_a_person_can_do_has_no_edits() -> None:
    for wrong in (
        "lines:\n  head: {sargam: (S R}\n",
        LINE + "    words: a b c d e f g h i j k l m\n",
    ):
        found = _findings(with_heading(wrong))
        assert found
        assert not any(one.edits for finding in found for one in finding.suggestions), found


def test_a_key_that_is_there_is_no_new_name() -> None:
    text = with_heading(LINE + "    begins: 1\n    bgins: 1\n")
    (finding,) = [one for one in _findings(text) if one.rule == "unknown-key"]
    assert finding.tries[0] == "begins:"
    assert not finding.suggestions[0].edits
