"""The rules of the set against ``gig-cases.yaml``; what is tried holds."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from support.gigs import gig

from cyclechart.arrange.set_book import gig_of
from cyclechart.finding import Finding
from cyclechart.piece.set.gig import Gig, GigTune, changes_in
from cyclechart.piece.set.setlist import Break, load_setlist
from cyclechart.rules.judge import RULE_NAMES
from cyclechart.rules.set.order import better_order
from cyclechart.rules.set.time_and_tuning import SET_RULES, judge_set
from cyclechart.text.reading_rules import READING, name_of

CASES = yaml.safe_load((Path(__file__).parent / "gig-cases.yaml").read_text("utf-8"))


def _cases(kind: str) -> list[Any]:
    return [
        pytest.param(rule, case, id=f"{rule}: {case['name']}")
        for rule, data in CASES.items()
        for case in data[kind]
    ]


def of_rule(rule: str, one: Gig) -> list[Finding]:
    return [finding for finding in judge_set(one) if finding.rule == rule]


def test_every_rule_has_cases_and_explains_itself() -> None:
    assert set(CASES) == {rule.name for rule in SET_RULES}
    for rule in SET_RULES:
        assert CASES[rule.name]["fail"] and CASES[rule.name]["pass"]
        assert "wrong:" in rule.help, rule.name
        assert "right:" in rule.help, rule.name


def test_no_name_is_taken() -> None:
    names = {rule.name for rule in SET_RULES}
    assert len(names) == len(SET_RULES)
    assert not names & {*RULE_NAMES, *(name_of(fault) for fault in READING)}


@pytest.mark.parametrize(("rule", "case"), _cases("fail"))
def test_fails(tmp_path: Path, rule: str, case: dict[str, Any]) -> None:
    found = of_rule(rule, gig(tmp_path, case["set"]))
    assert len(found) == case.get("count", 1)
    first = found[0]
    assert f"{first.spot.line}:{first.spot.column}" == case["at"]
    for words in case.get("says", []):
        assert words in first.message
    if "try" in case:
        assert list(first.tries) == case["try"]


@pytest.mark.parametrize(("rule", "case"), _cases("pass"))
def test_passes(tmp_path: Path, rule: str, case: dict[str, Any]) -> None:
    assert of_rule(rule, gig(tmp_path, case["set"])) == []


def test_another_order_keeps_the_tunes_the_ends_and_the_breaks(tmp_path: Path) -> None:
    names = ["on-d", "on-g", "on-a", "on-d2", "on-g2", "on-d3", "on-g3"]
    one = gig(tmp_path, f"pieces: [{', '.join(f'{name}.yaml' for name in names)}, {{break: 9}}]")
    best = better_order(one)
    assert best is not None
    assert isinstance(best[-1], Break)
    titles = [item.title for item in best if isinstance(item, GigTune)]
    assert sorted(titles) == sorted(tune.title for tune in one.tunes)
    assert (titles[0], titles[-1]) == ("On D", "On G3")
    retune = one.setlist.retune
    assert len(list(changes_in(best, retune))) == 2 < len(one.changes)


def test_a_tune_on_the_sa_that_is_to_be_tried_is_at_ease_and_saves_time(tmp_path: Path) -> None:
    (found,) = of_rule("retuning", gig(tmp_path, "pieces: [on-d.yaml, on-g.yaml]"))
    assert "tonic: D" in found.tries[0]
    after = gig(tmp_path, "pieces: [on-d.yaml, {piece: on-g.yaml, tonic: D}]")
    assert not judge_set(after)


def test_a_sa_on_which_somebody_strains_is_not_offered(tmp_path: Path) -> None:
    # On B♭ the saxophone has it; on D it is a strain.
    text = "pieces: [on-d.yaml, {piece: high-1.yaml, tonic: Bb}]"
    (found,) = of_rule("retuning", gig(tmp_path, text))
    assert not found.tries


def test_what_relieves_a_strained_row_does(tmp_path: Path) -> None:
    names = [f"high-{number}" for number in range(1, 6)]
    entries = [f"{name}.yaml" for name in names]
    (found,) = of_rule("strained-set", gig(tmp_path, f"pieces: [{', '.join(entries)}]"))
    assert found.tries[0] == "tonic: B♭ for 'High 3' (number 3)"
    lower = [*entries[:2], "{piece: high-3.yaml, tonic: Bb}", *entries[3:]]
    assert not of_rule("strained-set", gig(tmp_path, f"pieces: [{', '.join(lower)}]"))
    parted = [*entries[:2], "{break: 5}", *entries[2:4], "{break: 5}", entries[4]]
    assert not of_rule("strained-set", gig(tmp_path, f"pieces: [{', '.join(parted)}]"))


def test_times_of_the_gig_add_up(tmp_path: Path) -> None:
    text = """pieces:
  - {piece: on-d.yaml, minutes: 5}
  - {piece: on-g.yaml, minutes: 4}
  - {break: 1}
  - {piece: on-a.yaml, minutes: 3}
"""
    one = gig(tmp_path, text)
    assert one.starts == (0, 7, 11, 13)
    assert one.minutes == 16
    assert [change.minutes for change in one.changes] == [2, 1]
    written = gig(tmp_path, "pieces: [on-d.yaml]").minutes
    assert float(written) == pytest.approx(20 / 92, abs=1e-6)


def test_the_demo_set_can_be_played() -> None:
    path = Path(__file__).parents[3] / "pieces" / "sets" / "regatta-night.yaml"
    setlist, _, _ = load_setlist(path, RULE_NAMES)
    assert setlist is not None
    told = judge_set(gig_of(setlist))
    assert {finding.severity for finding in told} <= {"advice"}


def test_a_set_without_the_tune_that_may_go_fits(tmp_path: Path) -> None:
    entries = ["{piece: on-d.yaml, minutes: 9}", "{piece: on-g.yaml, minutes: 4}"]
    entries.append("{piece: on-d2.yaml, minutes: 6}")
    text = "length: 20\npieces: [{}]"
    (found,) = of_rule("over-time", gig(tmp_path, text.format(", ".join(entries))))
    # Without it nothing is retuned either.
    assert found.tries[0] == "leave out 'On G' (number 2): 15:00"
    left = gig(tmp_path, text.format(", ".join([entries[0], entries[2]])))
    assert left.minutes == 15
    assert not of_rule("over-time", left)


def test_a_rest_where_it_is_told_is_enough(tmp_path: Path) -> None:
    entries = [f"{{piece: high-{n}.yaml, minutes: 29}}" for n in range(1, 6)]
    (found,) = of_rule("no-rest", gig(tmp_path, f"pieces: [{', '.join(entries)}]"))
    places = [n for n in range(1, 6) if f"(number {n})" in found.tries[0]]
    for place in reversed(places):
        entries.insert(place, "{break: 5}")
    assert not of_rule("no-rest", gig(tmp_path, f"pieces: [{', '.join(entries)}]"))
