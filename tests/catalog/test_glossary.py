"""The glossary has every word of the trade that the language has, that is printed or explained."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import get_args

import pytest
from support.making import ROOT

from cyclechart.catalog.glossary import glossary, nearest_terms, term
from cyclechart.catalog.library import fold
from cyclechart.catalog.roles import ROLES
from cyclechart.catalog.suladi import JATIS
from cyclechart.cli import cli
from cyclechart.piece.shape import VERBS
from cyclechart.rules.judge import help_texts
from cyclechart.text.line_tree import MARKS, SPEEDS
from cyclechart.theory.cadence import YATIS
from cyclechart.theory.cadence.terms import CadenceKind
from cyclechart.theory.cycle import LIMBS
from cyclechart.theory.mode import REGISTERS

README = (ROOT / "README.md").read_text("utf-8")

OF_THE_LANGUAGE = {
    *MARKS, *SPEEDS, *YATIS, *LIMBS.values(), *JATIS, *REGISTERS, *ROLES, *get_args(CadenceKind),
    *VERBS, "anagat", "atit", "eduppu", "gati", "jati", "hits", "fermata", "swing", "tonic",
    "count-in", "sarvalaghu", "solfa16", "sargam", "konnakol", "halves",
}  # fmt: skip
"""The words that its keys and values take, from the tables of the code."""
PLAIN = {"play", "single", "speeds", "adi", "halves"}
"""English that means here what it means elsewhere, and the tala that a speed is called like."""

IN_BRACKETS = re.compile(r"(?<=[a-z`] )\(([a-z][a-z]+(?:[ ,-]+[a-z]+){0,2})\)")
"""The house style names the trade's word in brackets: a wave (khali), patterns (palta, alankar)."""
EXPLAINED_IN_PLACE = re.compile(r"\s(?:and|or|the|of|in|is|as|at|to|with|by|where|how|not|its)\s")
NO_TRADE = {
    # English in brackets, about the sentence it stands in.
    "beats", "below", "repeatable", "growing", "default", "octaves apart", "common practice",
    "shrinking", "kept", "large", "straight", "before", "jazz scales too", "slow", "tenor sax",
    "then growing", "then shrinking",
}  # fmt: skip

ON_PAPER = re.compile(r"D\.S\.|V\.S\.|\b[Cc]oda\b|\b[Ff]ine\b|accel\.|rit\.|cresc\.|dim\.|gam\.")


def known(word: str) -> bool:
    return term(word, by_sound=False) is not None


@pytest.mark.parametrize("word", sorted(OF_THE_LANGUAGE - PLAIN))
def test_the_language_s_own_words_are_explained(word: str) -> None:
    assert known(word), word


def test_the_words_that_the_readme_explains_are_there() -> None:
    table = README.split("#### Words of the trade")[1].split("\n## ")[0]
    words = re.findall(r"^\| ([a-z, ]+) \|", table, re.MULTILINE)
    assert len(words) > 20
    missing = [one for row in words for one in row.split(", ") if one != "word" and not known(one)]
    assert missing == []


def help_of_commands() -> Iterator[str]:
    for command in cli.commands.values():
        yield command.help or ""
        for parameter in command.params:
            yield getattr(parameter, "help", None) or ""


def test_words_in_brackets_are_there() -> None:
    """Where a text names the trade's word in brackets, `why` explains it."""
    texts = [README.split("#### Instruments")[0], *help_texts().values(), *help_of_commands()]
    found = {
        word.strip()
        for text in texts
        for match in IN_BRACKETS.findall(" ".join(text.split()))
        if not EXPLAINED_IN_PLACE.search(f" {match} ")
        for word in match.split(",")
    }
    assert {"khali", "tala", "palta", "bedam"} <= found
    assert sorted(word for word in found - NO_TRADE if not known(word)) == []


def test_what_the_pages_print_is_there() -> None:
    package = ROOT / "cyclechart"
    sources = [*package.rglob("*.py"), *package.rglob("*.typ")]
    printed = {
        word
        for source in sources
        if {"arrange", "paper", "engraving", "musicxml"} & {*source.parts}
        for text in re.findall(r'"[^"\n]*"|\[[^\]\n]*\]', source.read_text("utf-8"))
        for word in ON_PAPER.findall(text)
    }
    assert {"D.S.", "V.S.", "accel."} <= printed
    assert sorted(word for word in printed if not known(word)) == []


def test_every_entry_says_what_it_is_and_leads_on() -> None:
    rules = help_texts()
    for word, entry in glossary().items():
        assert entry.means.endswith("."), word
        assert entry.here, word
        assert len(entry.means) + len(entry.here) < 400, word
        assert word not in entry.see
        assert {*entry.see} <= {*glossary()}, word
        assert {*entry.rules} <= {*rules}, word


def test_every_rule_is_reached_from_a_word_or_is_about_the_file() -> None:
    reached = {rule for entry in glossary().values() for rule in entry.rules}
    musical = {"misses-first-beat", "foreign-tone", "weak-rest", "vadi-faint", "cadence-misses",
               "turn-skipped", "no-breath", "drone-string", "section-line-astray"}  # fmt: skip
    assert musical <= reached


def test_no_two_entries_have_one_spelling() -> None:
    seen: dict[str, str] = {}
    for word, entry in glossary().items():
        for spelling in (word, *entry.also):
            assert fold(spelling), spelling
            assert seen.setdefault(fold(spelling), word) == word, spelling


@pytest.mark.parametrize(
    ("asked", "found"),
    [("Tihāī", "tihai"), ("teehaai", "tihai"), ("Sam", "sam"), ("thaat", "that"), ("D.S.", "D.S."),
     ("dal segno", "D.S."), ("khaalee", "khali"), ("nadai", "gati"), ("rubato", "free")],
)  # fmt: skip
def test_words_are_found_in_other_spellings(asked: str, found: str) -> None:
    entry = term(asked)
    assert entry is not None
    assert entry.word == found


def test_unknown_words_get_the_nearest() -> None:
    assert term("flurble") is None
    assert "damdar" in nearest_terms("damdaar-")
    assert term("") is None
    assert term("x" * 100_000) is None
