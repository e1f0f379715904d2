"""Keys that stand beside the line they belong to are told, with the edits that indent them."""

from __future__ import annotations

import pytest
from support.line_texts import FILE, mapping

from cyclechart.text.edits import with_edits
from cyclechart.text.nesting import not_beneath
from cyclechart.text.source import Source

KEYS = ("sargam", "words", "begins")


@pytest.mark.parametrize(
    ("text", "mended"),
    [
        ("head:\nsargam: |\n  S R\n\n  G m\nnext: {sargam: S}\n",
         "head:\n  sargam: |\n    S R\n\n    G m\nnext: {sargam: S}\n"),
        ("head:\nsargam: S R\nwords: a b\n", "head:\n  sargam: S R\n  words: a b\n"),
        ("head:\nbegins: 5\nsargam: S\nother: {sargam: P}\n",
         "head:\n  begins: 5\n  sargam: S\nother: {sargam: P}\n"),
    ],
)  # fmt: skip
def test_what_belongs_beneath_is_indented(text: str, mended: str) -> None:
    astray, (finding,) = not_beneath(mapping(text), KEYS)
    assert "head" in astray
    assert "not indented beneath 'head'" in finding.message
    assert with_edits(Source.of(FILE, text), finding.suggestions[0].edits) == mended
    assert not_beneath(mapping(mended), KEYS) == (set(), [])
    assert finding.tries[0].startswith("head:\n  ")


@pytest.mark.parametrize(
    "text", ["head: {sargam: S}\nwords: {sargam: P}\n", "sargam: {sargam: S}\n", "a:\nb:\n"]
)
def test_lines_with_the_names_of_keys_are_lines(text: str) -> None:
    assert not_beneath(mapping(text), KEYS) == (set(), [])
