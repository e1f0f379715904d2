"""Dynamics and hairpins of lines that are turned round or cut: each note is as loud as it was."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import piece_of

from cyclechart.arrange.roles.drum_levels import LEVELS
from cyclechart.arrange.roles.line_levels import note_levels
from cyclechart.piece.line import Line
from cyclechart.piece.written_line import music_of


def line(text: str, keys: str) -> Line:
    return piece_of(
        f"lines:\n  head: {{lands: free, sargam: '{text}'}}\n  echo: {{from: head{keys}}}\n"
    ).lines["echo"]


def written(text: str, keys: str) -> str:
    lines = f"lines:\n  head: {{sargam: '{text}'}}\n  echo: {{from: head, lands: free{keys}}}\n"
    piece = piece_of(lines, cycle="keherwa")
    return music_of(piece, piece.lines["echo"])


@pytest.mark.parametrize(
    ("text", "turned"),
    [
        ("!p!S R !cresc!G m !f!P d", "!f!d !dim!P m !p!G R S"),
        ("!p!!cresc!S R !f!G m", "!f!m !dim!G R !p!S"),
        # Under no sign at first, as loud as mf; and a step louder where nothing says how far.
        ("S R !f!G m", "!f!m G !mf!R S"),
        ("S !cresc!R G m", "!f!!dim!m G !mf!R S"),
        ("!cresc!S R !dim!G R S", "!mf!!cresc!S R !f!!dim!G R !mf!S"),
        # One that goes to the wrong side does not lead to that dynamic.
        ("!f!!cresc!S R !p!G", "!p!G !ff!!dim!R !f!S"),
        ("!accent!S !p!R !cut!!trill!G", "!p!!cut!!trill!G R !mf!!accent!S"),
        ("(S R) !cresc!(G m P) !f!d", None),
    ],
)
def test_turned_round_each_note_is_as_loud_as_it_was(text: str, turned: str | None) -> None:
    if turned is None:
        text, turned = "(S R) (!cresc!G m P) !f!d", "!f!!dim!d (P m !mf!G) (R S)"
    assert written(text, ", reversed: true") == turned


_SIGNS = ["S", "R", "G", "m", "!cresc!S", "!dim!R"]
_LEVELS = ["!p!P", "!f!d", "!ff!!dim!G"]


@given(
    # Dynamics are 6 to 10 apart: within half a step, where several hairpins follow each other.
    st.lists(st.sampled_from(_SIGNS), min_size=1, max_size=14).map(lambda cells: (cells, 4))
    # A hairpin to the wrong side of the dynamic after it gets about as far: within a step.
    | st.lists(st.sampled_from(_SIGNS + _LEVELS), min_size=1, max_size=14).map(lambda c: (c, 10))
)
def test_the_sound_agrees(drawn: tuple[list[str], int]) -> None:
    cells, nearly = drawn
    text = " ".join(cells)
    levels = note_levels(line(text, "").notes, 0, LEVELS)
    turned = note_levels(line(text, ", reversed: true").notes, 0, LEVELS)
    for one, other in zip(reversed(levels), turned, strict=True):
        # Beyond ff and pp there is nothing that can be written.
        assert not LEVELS["pp"] <= one <= LEVELS["ff"] or abs(one - other) <= nearly, text


@pytest.mark.parametrize(
    ("text", "part", "found"),
    [
        ("!p!S R G m P d n S' || R G m P d n S' R", 2, "!p!R G m P d n S' R"),
        ("S R G m P d !cresc!n S' || R G !f!m P d n S' R", 2, "!cresc!R G !f!m P d n S' R"),
        ("S R G m P d !cresc!n S' || R G !f!m P d n S' R", 1, "S R G m P d !cresc!n S'"),
        ("S R G m P d n !p!!cresc!S' || R G !f!m P d n S' R", 1, "S R G m P d n !p!S'"),
        ("S R G m P d n (S' || R G) m P d n S' R", 2, "(R G) m P d n S' R"),
        ("S R G m P d n (S' || R) G m P d n S' R", 1, "S R G m P d n S'"),
        ("S R G m P d (n S' || R) G m P d n S' R", 1, "S R G m P d (n S')"),
        ("S R G m P d (n S' || R) G m P d n S' R", 2, "R G m P d n S' R"),
    ],
)
def test_a_part_has_what_is_under_way_where_it_begins_and_ends(
    text: str, part: int, found: str
) -> None:
    text = text.replace("'", "''")
    assert written(text, f", part: {part}").replace(" | ", " ") == found
