"""Keys that stand beside the line they belong to are told, with the edits that indent them."""

from __future__ import annotations

import pytest
from support.line_texts import FILE, mapping

from cyclechart.text.edits import with_edits
from cyclechart.text.nesting import not_beneath, with_names_beneath
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


def test_names_beside_their_owner_are_read_beneath_it() -> None:
    text = (
        "lines:\nhead:\n  sargam: S\ntwo: {sargam: R}\nform: [play: head]\n"
        "players:\nflute: melody\n"
    )
    node, (lines, players) = with_names_beneath(
        mapping(text), ("lines", "players"), lambda name, _: name not in ("form", "players")
    )
    assert list(node.pairs) == ["lines", "form", "players"]
    assert node.plain()["lines"] == {"head": {"sargam": "S"}, "two": {"sargam": "R"}}
    assert node.plain()["players"] == {"flute": "melody"}
    assert "'head' is not indented beneath 'lines'" in lines.message
    edits = [*lines.suggestions[0].edits, *players.suggestions[0].edits]
    mended = with_edits(Source.of(FILE, text), edits)
    assert mended == (
        "lines:\n  head:\n    sargam: S\n  two: {sargam: R}\nform: [play: head]\n"
        "players:\n  flute: melody\n"
    )
    assert with_names_beneath(mapping(mended), ("lines", "players"), lambda *_: True)[1] == []
