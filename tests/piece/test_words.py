"""Sung text, aligned by ABC 2.1, section 5.1 (the examples of the standard among them)."""

from __future__ import annotations

import pytest
from support.making import piece_of


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
