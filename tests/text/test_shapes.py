"""Shapes as they are declared: names of keys, defaults, and the values that were read."""

from __future__ import annotations

import pytest

from cyclechart.text.shapes import (
    ITSELF,
    NUMBER_OR_AUTO,
    TEXT,
    Key,
    ListOf,
    Shape,
    ShapeOf,
    optional,
    required,
)


class Branch(Shape):
    title = required(TEXT, "title: T")
    count_in = optional(TEXT)
    break_ = optional(TEXT, "none")
    rests = optional(ListOf(TEXT), [])
    branch: Key[Branch | None] = optional(ITSELF)


class Twig(Branch):
    leaf = optional(TEXT)


def test_a_key_has_the_name_that_it_has_in_a_file() -> None:
    assert list(Branch.keys) == ["title", "count-in", "break", "rests", "branch"]
    assert [key.attribute for key in Branch.keys.values()] == [
        "title", "count_in", "break_", "rests", "branch",
    ]  # fmt: skip
    assert Branch.count_in is Branch.keys["count-in"]


def test_a_shape_has_the_keys_of_the_shape_above_it_too() -> None:
    assert list(Twig.keys) == [*Branch.keys, "leaf"]
    assert "leaf" not in Branch.keys


def test_keys_that_must_be_there_are_told_from_the_others() -> None:
    assert [name for name, key in Branch.keys.items() if key.is_required] == ["title"]
    assert Branch.title.example == "title: T"


def test_a_default_list_is_not_shared() -> None:
    Branch.rests.default.append("S")
    assert Branch.rests.default == []
    assert Branch.break_.default == "none"


def test_a_key_of_the_very_shape_holds_it() -> None:
    kind = Branch.branch.kind
    assert isinstance(kind, ShapeOf)
    assert kind.shape is Branch


def test_a_value_is_read_by_its_attribute() -> None:
    read = Branch({"title": "T", "count_in": None, "break_": "none", "rests": [], "branch": None})
    assert read.title == "T"
    assert read.count_in is None


def test_a_text_keeps_its_rows_and_refuses_other_control_characters() -> None:
    assert TEXT.parse("S R\n\tG") == "S R\n\tG"
    for wrong, said in (("  ", "empty"), ("S\x07", "control character")):
        with pytest.raises(ValueError, match=said):
            TEXT.parse(wrong)


def test_auto_is_no_number() -> None:
    assert NUMBER_OR_AUTO.parse(" auto ") is None
    assert NUMBER_OR_AUTO.parse("3/2") is not None
