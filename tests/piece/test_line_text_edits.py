"""Beats put in and cut, and section lines moved, in the text of a line as it is written."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from support.making import load_text, with_heading

from cyclechart.piece.line import Line
from cyclechart.piece.line_text_edits import (
    beats_at_end,
    beats_before_last,
    section_line_removed,
    section_lines_moved,
)
from cyclechart.piece.model import Piece
from cyclechart.text.edits import Edits, with_edits

_ITEM = st.sampled_from(
    ["S", "R", "mP", "G/2", "-", "z", "|", "||", "[S R]x3/2", "(S R)*2", "(G m)", "# so far\n"]
)
_STYLE = st.sampled_from(["    sargam: |\n      {}\n", '    sargam: "{}"\n'])


def _piece(music: str, style: str = "    sargam: |\n      {}\n") -> tuple[str, Piece, Line]:
    written = style.format(music.replace("\n", "\n      "))
    text = with_heading(f"lines:\n  head:\n    lands: free\n{written}  # end\n")
    piece = load_text(text).piece
    assert piece is not None
    assert "head" in piece.lines, text
    return text, piece, piece.lines["head"]


def _after(text: str, edits: Edits) -> Line:
    loaded = load_text(with_edits(load_text(text).sources["test.yaml"], edits))
    assert not loaded.findings
    assert loaded.piece is not None
    return loaded.piece.lines["head"]


def _sounding(line: Line) -> list[tuple[Fraction, int | None]]:
    return [(note.start, note.pitch) for note in line.notes]


def _music(items: list[str], style: str) -> str:
    music = " ".join(items)
    assume("\n" not in style.format(music)[:-1] or "|\n" in style)
    return music


@given(st.lists(_ITEM, max_size=6), _STYLE, st.fractions(Fraction(1, 4), 9, max_denominator=4))
def test_beats_at_the_end_hold_the_last_note(items: list[str], style: str, beats: Fraction) -> None:
    assume("#" not in " ".join(items) or "|\n" in style)
    text, piece, line = _piece(_music(["S", *items], style), style)
    longer = _after(text, beats_at_end(piece, line, beats))
    assert longer.length == line.length + beats
    assert _sounding(longer) == _sounding(line)
    assert [bar.offset for bar in longer.section_lines] == [
        bar.offset for bar in line.section_lines
    ]


@given(st.lists(_ITEM, max_size=6), _STYLE, st.fractions(Fraction(1, 4), 9, max_denominator=4))
def test_beats_before_the_last_note_move_it_alone(
    items: list[str], style: str, beats: Fraction
) -> None:
    assume("#" not in " ".join(items) or "|\n" in style)
    text, piece, line = _piece(_music(["S", *items, "P"], style), style)
    edits = beats_before_last(piece, line, beats, line.section_lines)
    assert edits
    longer = _after(text, edits)
    (*before, last) = _sounding(line)
    assert _sounding(longer) == [*before, (last[0] + beats, last[1])]
    assert longer.length == line.length + beats


@given(st.lists(_ITEM, min_size=1, max_size=7), st.integers(1, 4))
def test_beats_are_cut_where_whole_cells_make_them(items: list[str], beats: int) -> None:
    text, piece, line = _piece(" ".join(["S", *items, "P"]))
    edits = beats_before_last(piece, line, Fraction(-beats), ())
    if not edits:
        return
    shorter = _after(text, edits)
    start = line.notes[-1].start - beats
    kept = [one for one in _sounding(line)[:-1] if one[0] < start]
    assert _sounding(shorter) == [*kept, (start, line.notes[-1].pitch)]
    assert shorter.length == line.length - beats


def test_plain_cells_can_always_be_cut() -> None:
    text, piece, line = _piece("S R | G m P || d n")
    edits = beats_before_last(piece, line, Fraction(-3), ())
    source = load_text(text).sources["test.yaml"]
    assert "      S R | G n\n" in with_edits(source, edits)


@pytest.mark.parametrize(
    ("music", "by", "moved"),
    [
        ("S R | G m", 1, "S R G | m"),
        ("S R | G m", -1, "S | R G m"),
        ("S R | G m", 2, "S R G m |"),
        ("S R || G m", -2, "|| S R G m"),
        ("S R | [G m]x2 P", 1, "S R [G m]x2 | P"),
        ("S R |\n G m", -1, "S | R\n G m"),
        ("S R | mP G", Fraction(1, 2), ""),
        ("S R | [G m]x3/2 P", 1, ""),
    ],
)
def test_a_section_line_is_moved_between_cells(music: str, by: Fraction, moved: str) -> None:
    text, piece, line = _piece(music)
    edits = section_lines_moved(piece, line, line.section_lines, Fraction(by))
    source = load_text(text).sources["test.yaml"]
    assert bool(edits) == bool(moved)
    if moved:
        rows = moved.replace("\n", "\n      ")
        assert f"      {rows}\n" in with_edits(source, edits)
        after = _after(text, edits)
        assert [bar.offset for bar in after.section_lines] == [
            bar.offset + by for bar in line.section_lines
        ]
        assert _sounding(after) == _sounding(line)


def test_a_section_line_is_left_out() -> None:
    text, piece, line = _piece("S R | G || m")
    source = load_text(text).sources["test.yaml"]
    for bar, left in zip(line.section_lines, ("S R G || m", "S R | G m"), strict=True):
        edits = section_line_removed(piece, line, bar)
        assert f"      {left}\n" in with_edits(source, edits)


def test_a_line_that_is_no_text_of_its_own_has_no_edits() -> None:
    text = with_heading("lines:\n  head: {sargam: S R G}\n  echo: {from: head}\n")
    piece = load_text(text).piece
    assert piece is not None
    assert beats_at_end(piece, piece.lines["echo"], Fraction(1)) == ()
