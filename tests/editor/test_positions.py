"""Places of a text in an editor's units, against Python's own encoders."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.editor.positions import At, Positions, letters, units
from cyclechart.text.source import Source

ENCODERS = {"utf-8": ("utf-8", 1), "utf-16": ("utf-16-le", 2), "utf-32": ("utf-32-le", 4)}


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=20), st.sampled_from([*ENCODERS]))
def test_units_are_those_of_the_encoding(text: str, encoding: str) -> None:
    codec, size = ENCODERS[encoding]
    assert units(text, encoding) == len(text.encode(codec)) // size
    for index in range(len(text) + 1):
        assert letters(text, units(text[:index], encoding), encoding) == index


@given(st.text(st.sampled_from("a𝄞é\n"), max_size=30), st.sampled_from([*ENCODERS]), st.booleans())
def test_every_offset_comes_back(text: str, encoding: str, mark: bool) -> None:
    positions = Positions(Source.of("x", text), encoding, mark=mark)
    for offset in range(len(text) + 1):
        assert positions.offset(positions.at(offset)) == offset


@pytest.mark.parametrize("at", [At(0, 99), At(9, 0), At(0, 0), At(1, 1)])
def test_positions_outside_the_text_are_taken_to_its_rows(at: At) -> None:
    positions = Positions(Source.of("x", "a𝄞\nb"), "utf-16")
    assert 0 <= positions.offset(at) <= 4


def test_half_a_letter_is_that_letter() -> None:
    assert letters("𝄞b", 1, "utf-16") == 0
    assert letters("𝄞b", 2, "utf-8") == 0
