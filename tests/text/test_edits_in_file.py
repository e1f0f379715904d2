"""Edits in the bytes of a file."""

from __future__ import annotations

import codecs

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.finding import Edit, Spot
from cyclechart.text.edits import with_edits, with_edits_in_file
from cyclechart.text.source import decode


def edited(data: bytes, *edits: Edit) -> bytes:
    return with_edits_in_file(data, edits)


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"])
@pytest.mark.parametrize("mark", [b"", codecs.BOM_UTF8])
def test_line_ends_and_the_mark_stay(end: bytes, mark: bytes) -> None:
    data = mark + end.join([b"one", b"\xf0\x9f\xa5\x81 two", b"three"])
    edits = (Edit(Spot("x", 2, 3, 3), "2\n2"), Edit(Spot("x", 1, 4, 0), "!"))
    assert edited(data, *edits) == mark + end.join([b"one!", b"\xf0\x9f\xa5\x81 2", b"2", b"three"])


def test_an_edit_over_line_ends_takes_them_whole() -> None:
    assert edited(b"a\r\nb\nc\r\nd", Edit(Spot("x", 1, 2, 5), "")) == b"a\r\nd".replace(
        b"\r\n", b""
    )


PARTS = st.lists(st.sampled_from(["a", "\r\n", "\n", "\r", "é"]), max_size=12)


@given(PARTS, st.data())
def test_it_is_the_edit_of_the_text_but_for_line_ends(
    parts: list[str], data: st.DataObject
) -> None:
    raw = "".join(parts).encode()
    source, _ = decode("x", raw)
    assert source is not None
    start = data.draw(st.integers(0, len(source.text)))
    width = data.draw(st.integers(0, len(source.text) - start))
    spot = source.spot(start)
    edit = Edit(Spot("x", spot.line, spot.column, width), "z")
    new, _ = decode("x", edited(raw, edit))
    assert new is not None
    assert new.text == with_edits(source, [edit])
