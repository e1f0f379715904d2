"""Characters of a text of music replaced in the file, in every style that YAML has."""

from __future__ import annotations

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.finding import Spot
from cyclechart.text.edits import with_edits
from cyclechart.text.nodes import Scalar, read
from cyclechart.text.passage_edits import FileNodes
from cyclechart.text.source import Source

STYLES = {
    "plain": "head: {text}\nrest: x  # as it was\n",
    "single": "head: '{single}'\nrest: x  # as it was\n",
    "double": 'head: "{double}"\nrest: x  # as it was\n',
    "block": "head: |\n  {text}\nrest: x  # as it was\n",
    "folded": "head: >-\n  {text}\nrest: x  # as it was\n",
    "braces": "head: {{one: {text}, two: y}}\nrest: x  # as it was\n",
    "quoted in braces": "{{head: '{single}', rest: x}}\n",
    "in a list": "head:\n- [ {text} ]\nrest: x  # as it was\n",
}
CELLS = ["S", "R'", "N,", "[G", "m]x2", "P", '!"hi"!S', "{R}S", "-", "||", "(P", "S)*2"]


def _file(style: str, text: str) -> str:
    return STYLES[style].format(
        text=text,
        single=text.replace("'", "''"),
        double=text.replace("\\", "\\\\").replace('"', '\\"'),
    )


def _plain_value(text: str) -> object:
    value = yaml.safe_load(text)["head"]
    while isinstance(value, dict | list):
        value = next(iter(value.values())) if isinstance(value, dict) else value[0]
    return value


@given(
    st.lists(st.sampled_from(CELLS), min_size=1, max_size=6),
    st.sampled_from(CELLS),
    st.integers(0, 5),
    st.sampled_from(sorted(STYLES)),
)
def test_only_the_cell_is_another_in_every_style(
    cells: list[str], new: str, at: int, style: str
) -> None:
    text = _file(style, " ".join(cells))
    try:
        if _plain_value(text) != " ".join(cells) + "\n" * (style == "block"):
            return  # YAML takes this plain text for something else
    except (yaml.YAMLError, KeyError, AttributeError, TypeError):
        return
    source = Source.of("a.yaml", text)
    root, findings = read(source)
    assert root is not None
    assert not findings
    nodes = FileNodes(root)
    scalar = next(one for one in nodes.scalars.values() if one.text.rstrip() == " ".join(cells))
    at %= len(cells)
    passage = scalar.passage()
    index = passage.text.index(" ".join(cells)) + len(" ".join([*cells[:at], ""]))
    edits = nodes.rewritten(passage.spot(index), cells[at], new)
    assert edits
    edited = with_edits(source, edits)
    wanted = " ".join([*cells[:at], new, *cells[at + 1 :]])
    assert str(_plain_value(edited)).rstrip("\n") == wanted
    row = 1 + (style in ("block", "folded", "in a list"))
    assert edited.split("\n")[row:] == text.split("\n")[row:]


def test_characters_before_the_place_are_counted_as_they_are_read() -> None:
    source = Source.of("a.yaml", "head: 'S R''G P'\n")
    root, _ = read(source)
    assert root is not None
    (edit,) = FileNodes(root).rewritten(Spot("a.yaml", 1, 13), "R'G", "R", back=2)
    assert with_edits(source, [edit]) == "head: 'S R P'\n"


@pytest.mark.parametrize("old", ["R", "S R G P"])
def test_there_is_no_edit_where_another_text_stands(old: str) -> None:
    root, _ = read(Source.of("a.yaml", "head: S R G\n"))
    assert root is not None
    assert FileNodes(root).rewritten(Spot("a.yaml", 1, 7), old, "m") == ()


def test_there_is_no_edit_in_a_row_that_is_quoted_in_memory_only() -> None:
    root, findings = read(Source.of("a.yaml", "head: - G m\n"))
    assert root is not None
    assert findings
    assert FileNodes(root).rewritten(Spot("a.yaml", 1, 9), "G", "m") == ()


def test_an_alias_is_edited_where_its_text_stands() -> None:
    source = Source.of("a.yaml", "one: &x S R\ntwo: *x\n")
    root, _ = read(source)
    assert root is not None
    scalar = FileNodes(root).root.pairs["two"][1]  # type: ignore[attr-defined]
    assert isinstance(scalar, Scalar)
    edits = FileNodes(root).rewritten(scalar.passage().spot(0), "S", "G")
    assert with_edits(source, edits) == "one: &x G R\ntwo: *x\n"


@given(
    st.lists(st.sampled_from(["S", "R'", ":", "#", "a:b", "x,y", "P"]), min_size=1, max_size=6),
    st.integers(0, 5),
    st.sampled_from(["m", "m:", "#m", "{R}m", "[m]", "", ":", "'m", "-"]),
)
def test_a_plain_text_is_quoted_wherever_a_change_makes_it_another_for_yaml(
    cells: list[str], at: int, new: str
) -> None:
    text = f"head: {' '.join(cells)}\nrest: x\n"
    try:
        if _plain_value(text) != " ".join(cells):
            return  # YAML takes this plain text for something else
    except (yaml.YAMLError, KeyError, AttributeError, TypeError):
        return
    source = Source.of("a.yaml", text)
    root, _ = read(source)
    assert root is not None
    at %= len(cells)
    edits = FileNodes(root).rewritten(
        Spot("a.yaml", 1, len(" ".join(["head:", *cells[:at], ""])) + 1), cells[at], new
    )
    wanted = " ".join([*cells[:at], new, *cells[at + 1 :]])
    if edits:
        assert str(yaml.safe_load(with_edits(source, edits))["head"] or "") == wanted
