"""Sung text, aligned by ABC 2.1, section 5.1 (the examples of the standard among them)."""

from __future__ import annotations

import pytest
from support.making import load_text, piece_of, with_heading


def sung(sargam: str, words: str, more: str = "lands: free") -> list[str]:
    piece = piece_of(
        f"lines:\n  h:\n    {more}\n    sargam: |\n      {sargam}\n    words: |\n      {words}\n"
    )
    return [note.word for note in piece.lines["h"].notes]


@pytest.mark.parametrize(
    ("words", "notes"),
    [
        ("syll-a-ble x", ["syll-", "a-", "ble", "x", ""]),
        ("syll-a--ble x", ["syll-", "a-", "", "ble", "x"]),
        ("syll-a -ble x", ["syll-", "a-", "", "ble", "x"]),
        ("time__ x", ["time", "_", "_", "x", ""]),
        ("of~the~day x", ["of the day", "x", "", "", ""]),
        ("a * well\\-known", ["a", "", "well-known", "", ""]),
        ("a- b", ["a-", "b", "", "", ""]),
        ("a---b", ["a-", "", "", "b", ""]),
    ],
)
def test_syllables_fall_on_notes_as_in_abc(words: str, notes: list[str]) -> None:
    assert sung("S R G m P", words) == notes


@pytest.mark.parametrize(
    ("words", "notes"),
    [
        ("a | b c", ["a", "", "b", "c", "", ""]),
        ("a b | c", ["a", "b", "c", "", "", ""]),
        ("a || b | c", ["a", "", "b", "", "c", ""]),
        ("a | | c", ["a", "", "", "", "c", ""]),
        ("| a", ["", "", "a", "", "", ""]),
        ("a | b | c | d", ["a", "", "b", "", "c", "d"]),
    ],
)
def test_a_bar_goes_on_at_the_next_section_line(words: str, notes: list[str]) -> None:
    assert sung("S R | G m || P d", words) == notes


def test_without_section_lines_a_bar_goes_on_at_the_next_first_beat() -> None:
    notes = sung("n d S R G m P d n S' n d S", "up | one | two", "begins: 9")
    assert [(at, word) for at, word in enumerate(notes) if word] == [
        (0, "up"),
        (2, "one"),
        (12, "two"),
    ]


def verses(words: str, text: str = "S R G m P", key: str = "sargam") -> list[tuple[str, ...]]:
    piece = piece_of(
        f"lines:\n  h:\n    lands: free\n    {key}: {text}\n    words:\n{words}", mode="kafi"
    )
    return [(note.word, *note.verses) for note in piece.lines["h"].notes]


def test_a_list_of_texts_is_verses() -> None:
    words = "      - one lit-tle lamp *\n      - two _ lamps * *\n"
    assert verses(words) == [
        ("one", "two"),
        ("lit-", "_"),
        ("tle", "lamps"),
        ("lamp", ""),
        ("", ""),
    ]


def test_a_list_of_one_is_that_text_alone() -> None:
    assert verses("      - a b\n") == [("a",), ("b",), ("",), ("",), ("",)]


def test_cadences_and_chains_have_verses() -> None:
    text = """
cycle: keherwa
lines:
  tihai: {cadence: {sargam: P m S, gap: 0}, words: [row the boat, row it home]}
  run: {sargam: S R g m}
  whole: {chain: [run, run], words: [a b c d e f g h, i j k l m n o p]}
"""
    lines = piece_of(text, mode="kafi").lines
    sung = [(note.word, *note.verses) for note in lines["tihai"].notes]
    assert sung == [("row", "row"), ("the", "it"), ("boat", "home")] * 3
    assert [note.verses for note in lines["whole"].notes] == [(one,) for one in "ijklmnop"]


def told(words: str) -> list[tuple[str, str]]:
    text = f"mode: kafi\nlines:\n  h: {{lands: free, sargam: S R g m, words: {words}}}\n"
    return [(f.severity, f.message) for f in load_text(with_heading(text)).findings]


def test_a_finding_names_its_verse() -> None:
    assert told("[a b c d, a b c d e]") == [
        ("error", "verse 2: there are more words than notes (4), from 'e'")
    ]
    assert told("[a b c d, a b c]") == [("warning", "verse 2: it ends before the last note")]
    assert told("[a b c d, a b * *]") == []
    assert told("a b c") == []  # one text may end early, as it always could
    assert told("a b c d e") == [("error", "there are more words than notes (4), from 'e'")]


@pytest.mark.parametrize("words", ["{a: b}", "[[a, b], c]", "[]", "[a b c d, '']", "''"])
def test_what_is_no_text_is_told_of(words: str) -> None:
    (finding,) = told(words)
    assert finding[0] == "error"


def test_no_line_has_hundreds_of_verses() -> None:
    (finding,) = told(f"[{', '.join(['a b c d'] * 21)}]")
    assert "at most 20 verses" in finding[1]
