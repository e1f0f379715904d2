"""The reading rules say what they are for, with an example each way; and the examples are true."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable

import pytest
from support.line_texts import STROKES, compose_text, mapping, read_text

from cyclechart.finding import Finding, Spot
from cyclechart.text.excerpts import clip
from cyclechart.text.near_names import nearest_names
from cyclechart.text.nodes import comments_after
from cyclechart.text.reading_rules import (
    READING,
    bad_cell,
    duplicate_key,
    lost_to_comment,
    missing_key,
    name_of,
    one_tone_phrase,
    too_long,
    two_readings,
    unclosed,
    unknown_key,
    unknown_line,
    unknown_name,
    unreadable,
)

Rule = Callable[..., Finding]
HERE = Spot("piece.yaml", 1, 1)


def example(rule: Rule, word: str) -> str:
    """The text after ``wrong:`` or ``right:`` in a rule's help, without its aside in ( )."""
    found = re.search(
        rf"^{word}:[ ]*(.*(?:\n[ ]{{4,}}.*)*)", inspect.getdoc(rule) or "", re.MULTILINE
    )
    assert found, f"{name_of(rule)} has no '{word}:'"
    lines = found[1].split("\n")
    return "\n".join([lines[0], *(line.removeprefix("        ") for line in lines[1:])])


@pytest.mark.parametrize("rule", READING, ids=name_of)
def test_every_reading_rule_has_help_with_an_example_each_way(rule: Rule) -> None:
    first = (inspect.getdoc(rule) or "").split("\n")[0]
    assert first.endswith(".")
    assert example(rule, "wrong") != example(rule, "right")


def test_rule_names_are_stable_and_their_own() -> None:
    # how-it-judges.md, 'Reading': rule names are the interface of tests, reports and liberties.
    names = [name_of(rule) for rule in READING]
    assert len(set(names)) == len(names)
    assert set(names) >= {
        "unreadable", "unknown-key", "missing-key", "wrong-value", "unknown-name", "bad-cell",
        "two-readings", "unclosed", "too-long", "cycle-unsound", "mode-unsound",
    }  # fmt: skip


@pytest.mark.parametrize("rule", [bad_cell, unclosed, too_long], ids=name_of)
def test_the_examples_of_a_line_text_are_true(rule: Rule) -> None:
    wrong = re.sub(r"\s{2,}\(.*", "", example(rule, "wrong"))
    _, findings = read_text(wrong)
    assert name_of(rule) in [found.rule for found in findings]
    _, findings = read_text(example(rule, "right"))
    assert findings == []


def test_the_examples_of_a_file_are_true() -> None:
    for rule in (unreadable, duplicate_key):
        _, findings = compose_text(example(rule, "wrong") + "\n")
        assert [found.rule for found in findings] == [name_of(rule)]
        mapping(example(rule, "right") + "\n")
    assert list(comments_after(mapping(example(lost_to_comment, "wrong") + "\n")))
    assert not list(comments_after(mapping(example(lost_to_comment, "right") + "\n")))


def test_two_readings_shows_the_cuts_it_was_given() -> None:
    found = two_readings(HERE, "tita", ["ti.ta", "tit.a"])
    assert (found.rule, found.severity) == ("two-readings", "error")
    for shown in found.tries:
        assert read_text(shown, STROKES)[1] == []


@pytest.mark.parametrize(
    ("name", "known", "best"),
    [
        ("tempp", ["title", "tempo", "tonic"], "tempo"),
        ("charukesh", ["charukeshi", "kirwani", "yaman"], "charukeshi"),
        ("HEAD", ["head", "answer"], "head"),
    ],
)
def test_the_nearest_name_comes_first(name: str, known: list[str], best: str) -> None:
    assert nearest_names(name, known)[0] == best


def test_nothing_near_is_no_name() -> None:
    assert nearest_names("zzz", ["title", "tempo"]) == []
    assert nearest_names("", ["title"]) == []
    assert nearest_names("x" * 10**6, ["title"]) == []


def test_an_unknown_key_with_nothing_near_lists_them_all() -> None:
    assert unknown_key(HERE, "tempp", ["tempo", "title"], "a piece").tries == ("tempo:",)
    assert unknown_key(HERE, "zzz", ["tempo", "title"], "a piece").tries == (
        "one of: tempo, title",
    )


def test_a_missing_key_shows_one() -> None:
    assert missing_key(HERE, "tonic", "a piece", "tonic: D").tries == ("tonic: D",)
    assert missing_key(HERE, "tonic", "a piece", "").tries == ()


def test_what_the_user_wrote_is_clipped_to_one_short_line() -> None:
    assert clip("S  R\n G") == "S R G"
    assert clip("x" * 41) == "x" * 39 + "…"
    assert clip("x" * 40) == "x" * 40


LONG = "x" * 10**5


@pytest.mark.parametrize(
    "found",
    [
        duplicate_key(HERE, LONG, 1),
        unknown_key(HERE, LONG, ["tempo"], "a piece"),
        unknown_name(HERE, "mode", LONG, ["yaman"]),
        unknown_line(HERE, LONG, ["head"]),
        two_readings(HERE, LONG, ["ti.ta"]),
        lost_to_comment(HERE, LONG, "#1"),
        lost_to_comment(HERE, "Ferry", "#" + LONG),
        one_tone_phrase(HERE, LONG),
    ],
    ids=lambda found: found.rule,
)
def test_no_finding_says_back_a_whole_book(found: Finding) -> None:
    assert len(found.message) < 200
