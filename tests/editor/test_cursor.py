"""Where the cursor stands, in texts that YAML cannot read yet too."""

from __future__ import annotations

import pytest

from cyclechart.editor.cursor import cursor_at, names_under

TEXT = "lines:\n  head:\n    sargam: |\n      S\n"


@pytest.mark.parametrize(
    ("text", "path", "writes", "word"),
    [
        ("|", (), "key", ""),
        ("ti|", (), "key", "ti"),
        ("title: A|", ("title",), "value", "A"),
        ("lines:\n  |", ("lines",), "key", ""),
        ("lines:\n  head:\n    sar|", ("lines", "head"), "key", "sar"),
        ("lines:\n  head:\n    sargam: S R|", ("lines", "head", "sargam"), "value", "R"),
        (TEXT + "      R|", ("lines", "head", "sargam"), "text", "R"),
        (TEXT + "      |", ("lines", "head", "sargam"), "text", ""),
        (TEXT + "    |", ("lines", "head"), "key", ""),
        (TEXT + "\n  lo|", ("lines",), "key", "lo"),
        ("lines:\n  head: {sargam: S, be|", ("lines", "head"), "key", "be"),
        ("lines:\n  head: {sargam: S, begins: 4|", ("lines", "head", "begins"), "value", "4"),
        ("lines:\n  head: {cadence: {ga|", ("lines", "head", "cadence"), "key", "ga"),
        ("lines:\n  head: {cadence: {gap: 1}, wo|", ("lines", "head"), "key", "wo"),
        ("lines:\n  c: {chain: [a, b|", ("lines", "c", "chain", "-"), "value", "b"),
        ("lines:\n  c:\n    chain:\n    - a\n    - b|", ("lines", "c", "chain", "-"), "key", "b"),
        ("form:\n  - pl|", ("form", "-"), "key", "pl"),
        ("form:\n- play: he|", ("form", "-", "play"), "value", "he"),
        ("form:\n  - play: head\n    ti|", ("form", "-"), "key", "ti"),
        ("form: [play: head, gr|", ("form", "-"), "value", "gr"),
        ("form: [{play: head, ti|", ("form", "-"), "key", "ti"),
        ("'a: b':\n  c|", ("a: b",), "key", "c"),
        ("# lines:\n  |", (), "key", ""),
    ],
)  # fmt: skip
def test_the_cursor(text: str, path: tuple[str, ...], writes: str, word: str) -> None:
    text, after = text.rsplit("|", 1)
    rows = (text + after).split("\n")
    row = text.count("\n")
    cursor = cursor_at(rows, row, len(text.split("\n")[-1]))
    assert (cursor.path, cursor.writes, cursor.word) == (path, writes, word)


def test_names_are_found_in_a_broken_text() -> None:
    text = "lines:\n  head:\n    sargam: |\n      lo: S [\n  low: {from: [\n  'the end':\nform: ]\n"
    assert names_under(text.split("\n"), "lines") == ["head", "low", "the end"]
