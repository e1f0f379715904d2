"""Edits on nodes: what YAML then reads is what was asked for, and all else stays."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.text.edits import Edits, with_edits
from cyclechart.text.node_edits import (
    commented_out,
    inserted,
    is_plain,
    item_added,
    item_removed,
    pair_removed,
    removed,
    renamed,
    scalar_text,
    with_key,
    with_value,
)
from cyclechart.text.nodes import Mapping, Scalar, Sequence, read
from cyclechart.text.source import Source

BLOCK = """\
# the top
title: A  # of it

lines:
  # before
  head:  # the head
    begins: 3   # on three
    sargam: |   # a block
      S R G
      m P

  # between
  answer: {begins: "2", sargam: 'S R'}  # in braces

  last:
    sargam: S R
      G m
form:
  - play: head
    times: 2  # twice
  - play: answer
# the end
"""


def _read(text: str) -> tuple[Source, Mapping]:
    source = Source.of("a.yaml", text)
    root, _ = read(source)
    assert isinstance(root, Mapping)
    return source, root


def _below(node: Mapping, *keys: str) -> Mapping:
    for key in keys:
        below = node.get(key)
        assert isinstance(below, Mapping)
        node = below
    return node


def _done(text: str, edits: Edits) -> Any:
    assert edits
    return yaml.load(with_edits(Source.of("a.yaml", text), edits), yaml.BaseLoader)


def _plain() -> Any:
    return yaml.load(BLOCK, yaml.BaseLoader)


def _comments(text: str) -> list[str]:
    return [row[row.index("#") :] for row in text.split("\n") if "#" in row]


@pytest.mark.parametrize(
    ("path", "key", "value"),
    [
        ((), "title", "Another"),
        ((), "tempo", "92"),
        (("lines", "head"), "begins", "1 1/2"),
        (("lines", "head"), "lands", "free"),
        (("lines", "answer"), "begins", "4"),
        (("lines", "answer"), "lands", "atit 1/2"),
        (("lines", "last"), "begins", "5"),
        (("lines", "last"), "sargam", "N, R: 4"),
        (("lines", "head"), "sargam", "S"),
    ],
)
def test_a_key_has_the_value_that_is_asked_for(path: tuple[str, ...], key: str, value: str) -> None:
    _, root = _read(BLOCK)
    edits = with_key(_below(root, *path), key, value)
    wanted = _plain()
    below = wanted
    for part in path:
        below = below[part]
    below[key] = value
    assert _done(BLOCK, edits) == wanted
    edited = with_edits(Source.of("a.yaml", BLOCK), edits)
    assert [one for one in _comments(edited) if one != "# a block"] == [
        one for one in _comments(BLOCK) if one != "# a block"
    ]


@given(st.text(st.sampled_from("SN,:#'\"\\[]{}- &*!|>%@`=?~x♭0"), max_size=8))
def test_any_text_is_read_back_whatever_style_it_takes(text: str) -> None:
    for style in (None, "'", '"'):
        for where in ("a: {}\n", "a: [{}]\n", "{{a: {}, b: c}}\n"):
            written = where.format(scalar_text(text, style))
            value = yaml.load(written, yaml.BaseLoader)["a"]
            assert (value[0] if isinstance(value, list) else value) == text, written


@given(st.text(st.sampled_from("SN,:#'\"[]{}- &*!|>%@`=?~x♭0"), min_size=1, max_size=8))
def test_what_is_plain_is_read_as_it_stands(text: str) -> None:
    if is_plain(text, in_brackets=False):
        assert yaml.load(f"a: {text}\nb: c\n", yaml.BaseLoader)["a"] == text
    if is_plain(text):
        assert yaml.load(f"{{a: {text}, b: [{text}]}}\n", yaml.BaseLoader)["a"] == text


_STYLES = st.sampled_from(
    ["old", "'old'", '"old"', "|\n  old", ">-\n  old\n  it", "[o, l]", "{o: l}", ""]
)


@given(
    _STYLES, st.sampled_from(["", "  # a comment"]), st.text("SN,' \"#:", min_size=1, max_size=6)
)
def test_a_value_in_any_style_gives_way_to_another(style: str, comment: str, new: str) -> None:
    head, *rows = style.split("\n")
    text = "\n".join([f"key: {head}{comment}", *rows, "next: x  # stays", ""])
    if new != new.strip():
        return
    _, root = _read(text)
    edits = with_value(root.pairs["key"][1], new)
    assert _done(text, edits) == {"key": new, "next": "x"}
    edited = with_edits(Source.of("a.yaml", text), edits)
    assert edited.endswith("\nnext: x  # stays\n")


def test_a_value_of_several_rows_leaves_the_comment_in_its_row() -> None:
    text = "key: [S R]x  # why\nnext: x\n"
    source, root = _read("key: [S R]  # why\nnext: x\n")
    edits = with_value(root.pairs["key"][1], "|\n  [S R]", ready=True)
    assert with_edits(source, edits) == "key: |  # why\n  [S R]\nnext: x\n"
    assert text


def test_an_alias_is_replaced_where_it_stands() -> None:
    text = "one: &x 1\ntwo: *x  # as one\nthree: {four: *x, five: 6}\n"
    source, root = _read(text)
    assert with_edits(source, with_key(root, "two", "7")) == text.replace("two: *x", "two: 7")
    below = _below(root, "three")
    assert with_edits(source, with_key(below, "four", "7")) == text.replace("four: *x", "four: 7")


@pytest.mark.parametrize(
    ("path", "key"),
    [
        (("lines", "head"), "begins"),
        (("lines", "head"), "sargam"),
        (("lines",), "head"),
        (("lines",), "answer"),
        (("lines",), "last"),
        (("lines", "answer"), "begins"),
        (("lines", "answer"), "sargam"),
        ((), "lines"),
        ((), "form"),
        ((), "title"),
    ],
)
def test_a_key_is_taken_out_and_the_others_stay(path: tuple[str, ...], key: str) -> None:
    _, root = _read(BLOCK)
    wanted = _plain()
    below = wanted
    for part in path:
        below = below[part]
    del below[key]
    assert _done(BLOCK, removed(_below(root, *path), key)) == wanted


def test_the_first_key_behind_a_dash_gives_its_place_to_the_next() -> None:
    source, root = _read(BLOCK)
    form = root.get("form")
    assert isinstance(form, Sequence)
    step = form.items[0]
    assert isinstance(step, Mapping)
    edited = with_edits(source, removed(step, "play"))
    assert "  - times: 2  # twice\n" in edited
    assert removed(_below(root, "lines", "last"), "sargam") == ()


def test_a_key_is_renamed_and_its_quotes_stay() -> None:
    source, root = _read("'one': 1\ntwo: 2\n")
    assert with_edits(source, renamed(root.key("one"), "it's")) == "'it''s': 1\ntwo: 2\n"
    assert with_edits(source, renamed(root.key("two"), "a b")) == "'one': 1\na b: 2\n"


def test_a_key_that_is_written_again_is_taken_out_or_made_a_comment() -> None:
    text = "a:\n  b: 1\n  c: |\n    x\n\n    y\n  b:\n    d: 2\n    e: 3\nf: 4\n"
    source, root = _read(text)
    below = _below(root, "a")
    ((key, value),) = below.doubles
    gone = with_edits(source, pair_removed(below, key, value))
    assert gone == text.replace("  b:\n    d: 2\n    e: 3\n", "")
    hidden = with_edits(source, commented_out(key, value))
    assert hidden == text.replace("  b:\n    d: 2\n    e: 3\n", "  # b:\n  #   d: 2\n  #   e: 3\n")
    assert yaml.safe_load(hidden) == yaml.safe_load(gone)


def test_items_are_added_and_taken_out_in_both_styles() -> None:
    for text in ("a:\n  - b: 1  # one\n  - c: 2\n\nd: e\n", "a: [{b: 1}, {c: 2}]\nd: e\n"):
        source, root = _read(text)
        items = root.get("a")
        assert isinstance(items, Sequence)
        more = yaml.safe_load(with_edits(source, item_added(items, "x: 3")))
        assert more == {"a": [{"b": 1}, {"c": 2}, {"x": 3}], "d": "e"}
        for number in (0, 1):
            fewer = yaml.safe_load(with_edits(source, item_removed(items, number)))
            assert fewer == {"a": [[{"c": 2}], [{"b": 1}]][number], "d": "e"}


def test_a_pair_of_several_rows_is_indented_below_its_key() -> None:
    source, root = _read(BLOCK)
    edits = inserted(root, "lines 2:\n  x:\n    sargam: S", ["title"])
    edited = with_edits(source, edits)
    assert edited.startswith("# the top\ntitle: A  # of it\nlines 2:\n  x:\n    sargam: S\n\n")
    assert inserted(_below(root, "lines", "answer"), "a:\n  b: c") == ()


def test_an_empty_value_is_filled_in() -> None:
    for text in ("a:\nb: c\n", "a:   # why\nb: c\n", "{a: , b: c}\n"):
        source, root = _read(text)
        value = root.pairs["a"][1]
        assert isinstance(value, Scalar)
        edited = with_edits(source, with_value(value, "x"))
        assert yaml.safe_load(edited) == {"a": "x", "b": "c"}, edited
        assert _comments(edited) == _comments(text)
