"""Keys that others would write get the key of ours, once."""

from __future__ import annotations

import pytest
from support.line_texts import mapping

from cyclechart.text.key_words import meant_key, meant_keys, suggestion

WORDS = {"bar": "cycles", "time-signature": "cycle", "chord": "a line of chords"}
KNOWN = ("cycles", "cycle")


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("bar", "cycles"), ("Bars", "cycles"), ("Time Signature", "cycle"),
        ("time_signature", "cycle"), ("chords", "a line of chords"), ("s", ""), ("", ""),
        ("bar" * 5000, ""),
    ],
)  # fmt: skip
def test_case_hyphens_and_a_plural_make_no_difference(written: str, meant: str) -> None:
    assert meant_key(written, WORDS) == meant


def test_a_key_of_ours_is_put_in_place_of_the_word() -> None:
    node = mapping("bars: 4\n")
    tried = suggestion(node.key("bars"), "cycles", node, KNOWN)
    assert tried.text == "cycles:"
    assert [(edit.spot.column, edit.spot.width, edit.text) for edit in tried.edits] == [
        (1, 4, "cycles")
    ]


def test_a_key_that_is_there_already_is_not_written_twice() -> None:
    node = mapping("cycles: 2\nbars: 4\n")
    tried = suggestion(node.key("bars"), "cycles", node, KNOWN)
    assert tried.edits == ()
    assert "line 1" in tried.text


def test_a_sentence_has_no_edit() -> None:
    node = mapping("chords: Dm7\n")
    assert suggestion(node.key("chords"), "a line of chords", node, KNOWN).edits == ()


def test_the_keys_that_unknown_ones_stand_for() -> None:
    assert meant_keys(mapping("cycle: a\nbars: 4\nother: 1\n"), WORDS, KNOWN) == {"cycles"}
