"""Each rule against its own data file of failing and passing lines (``cases/<rule>.yaml``).

A case is the part of a piece file that matters; what it does not give is taken from
``making.HEADING``. A failing case says where (line and column within the piece text that is shown
in the case), the musical place, words of the message and what is tried.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from support.making import findings_of, with_heading

from cyclechart.rules.judge import RULES, help_texts
from cyclechart.rules.rule import Rule
from cyclechart.write.terminal.findings import show_place

CASES = Path(__file__).parent / "cases"
FILES = {path.stem: yaml.safe_load(path.read_text("utf-8")) for path in CASES.glob("*.yaml")}


def _cases(kind: str) -> list[Any]:
    return [
        pytest.param(rule, case, id=f"{rule}: {case['name']}")
        for rule, data in sorted(FILES.items())
        for case in data[kind]
    ]


def test_every_rule_has_a_data_file_with_both_kinds() -> None:
    assert set(FILES) == {rule.name for rule in RULES}
    for rule, data in FILES.items():
        assert data["fail"], rule
        assert data["pass"], rule


@pytest.mark.parametrize(("rule", "case"), _cases("fail"))
def test_fails(rule: str, case: dict[str, Any]) -> None:
    text = with_heading(case["piece"])
    heading = text.count("\n") - case["piece"].count("\n")
    found = [finding for finding in findings_of(text) if finding.rule == rule]
    assert found, "the rule found nothing"
    assert len(found) == case.get("count", 1)
    first = found[0]
    assert f"{first.spot.line - heading}:{first.spot.column}" == case["at"]
    if "place" in case:
        assert first.place is not None
        assert show_place(first.place) == case["place"]
    for words in case.get("says", []):
        assert words in first.message
    if "try" in case:
        assert list(first.tries) == case["try"]


@pytest.mark.parametrize(("rule", "case"), _cases("pass"))
def test_passes(rule: str, case: dict[str, Any]) -> None:
    found = findings_of(with_heading(case["piece"]))
    assert not [finding for finding in found if finding.rule == rule and finding.liberty is None]
    unread = [
        f for f in found if f.rule in ("unreadable", "bad-cell", "unknown-key", "wrong-value")
    ]
    assert not unread, "the case itself is not readable"


_EXAMPLE = re.compile(r"^(wrong|right):\s+\((\S+), (\S+)\)\s+(.*)$", re.MULTILINE)


@pytest.mark.parametrize("rule", [rule for rule in RULES if _EXAMPLE.search(rule.help)])
def test_the_examples_of_the_help_are_true(rule: Rule) -> None:
    examples = _EXAMPLE.findall(rule.help)
    assert {kind for kind, *_ in examples} == {"wrong", "right"}
    for kind, mode, cycle, keys in examples:
        line = keys if keys.startswith("{") else f"\n    {keys}"
        text = with_heading(f"lines:\n  head: {line}\n", mode=mode, cycle=cycle)
        told = [finding.rule for finding in findings_of(text)]
        assert (rule.name in told) == (kind == "wrong"), (keys, told)
        if kind == "right":
            assert not told, (keys, told)


def test_all_but_a_few_rules_have_examples_that_are_run() -> None:
    unrun = {rule.name for rule in RULES if not _EXAMPLE.search(rule.help)}
    # Theirs need a form, players, or more than one line.
    assert unrun == {
        "unused-line",
        "too-fine",
        "covered-notes",
        "unheard-notes",
        "unused-liberty",
        "open-ending",
        "unplayed-line",
        "out-of-range",
        "strained-range",
        "no-breath",
        "drone-string",
        "uneven-under",
        "chord-outside-mode",
        "chord-pulls-from-sa",
        "rub",
        "unplayable-kit",
        "hurried-kit",
    }


def test_every_rule_explains_itself_with_a_wrong_and_a_right_example() -> None:
    for rule, text in help_texts().items():
        assert "wrong:" in text, rule
        assert "right:" in text, rule
