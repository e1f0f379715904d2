"""Edits: carried out at their places, together, never over each other."""

from __future__ import annotations

import pytest

from cyclechart.finding import Edit, Spot
from cyclechart.text.edits import with_edits
from cyclechart.text.source import Source

SOURCE = Source.of("a.yaml", "title: x\nsargam: S R G m\n")


def at(line: int, column: int, width: int, text: str) -> Edit:
    return Edit(Spot("a.yaml", line, column, width), text)


def test_edits_are_placed_in_the_text_as_it_was() -> None:
    edits = [at(2, 13, 1, "g"), at(1, 8, 1, "A longer title"), at(2, 9, 0, "S, ")]
    assert with_edits(SOURCE, edits) == "title: A longer title\nsargam: S, S R g m\n"


def test_an_edit_may_reach_over_a_line_end() -> None:
    assert with_edits(SOURCE, [at(1, 1, 9, "")]) == "sargam: S R G m\n"


def test_the_same_edit_twice_is_done_once() -> None:
    assert with_edits(SOURCE, [at(1, 8, 1, "y")] * 2) == "title: y\nsargam: S R G m\n"


def test_two_edits_of_the_same_characters_are_refused() -> None:
    with pytest.raises(ValueError, match="the same characters"):
        with_edits(SOURCE, [at(2, 9, 3, "a"), at(2, 11, 3, "b")])
