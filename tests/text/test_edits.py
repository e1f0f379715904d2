"""Edits: carried out at their places, together, never over each other."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cyclechart.finding import Edit, Spot
from cyclechart.text.edits import with_edits, with_edits_in_file
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


def test_what_is_put_in_at_one_place_stands_in_the_order_given() -> None:
    edits = [at(2, 9, 0, "a "), at(2, 9, 0, "b "), at(2, 9, 1, "c")]
    assert with_edits(SOURCE, edits) == "title: x\nsargam: a b c R G m\n"


@given(
    st.lists(st.sampled_from(["a: b", " ", "♭ c: d", "e"]), min_size=1, max_size=6),
    st.lists(st.sampled_from(["\n", "\r\n", "\r"]), min_size=6, max_size=6),
    st.booleans(),
    st.integers(0, 25),
    st.integers(0, 9),
    st.sampled_from(["", "x", "x\ny"]),
)
def test_the_bytes_elsewhere_stay_as_they_are(
    rows: list[str], ends: list[str], bom: bool, start: int, width: int, new: str
) -> None:
    written = "".join(row + end for row, end in zip(rows, ends, strict=False))
    data = b"\xef\xbb\xbf" * bom + written.encode()
    plain = written.replace("\r\n", "\n").replace("\r", "\n")
    source = Source.of("a.yaml", plain)
    start = min(start, len(plain))
    width = min(width, len(plain) - start)
    spot = source.spot(start)
    before = len("".join(r + e for r, e in zip(rows[: spot.line - 1], ends, strict=False)))
    # What stood between a lone CR and a LF taken out would make one line end of the two.
    assume(new or not written[: before + spot.column - 1].endswith("\r"))
    edit = Edit(Spot("a.yaml", spot.line, spot.column, width), new)
    edited = with_edits_in_file(data, [edit])
    assert edited.startswith(b"\xef\xbb\xbf") == bom
    text = edited.removeprefix(b"\xef\xbb\xbf").decode()
    # Read with plain line ends it is the edited text; before and after the place all bytes stay.
    assert text.replace("\r\n", "\n").replace("\r", "\n") == with_edits(source, [edit])
    assert text[: before + spot.column - 1] == written[: before + spot.column - 1]
    # A new row ends as the first row of the file does.
    first_end = next(end for end in ends)
    if new == "x\ny":
        assert text[before + spot.column - 1 :].startswith(f"x{first_end}y")
