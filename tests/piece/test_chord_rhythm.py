"""The rhythm of a line of chords: its players' own, as written, or that of another line."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st
from support.making import piece_of, with_heading

from cyclechart.finding import Finding
from cyclechart.piece.load import read_piece

KEHERWA = "cycle: keherwa\n"


def struck(lines: str, name: str = "comp") -> list[tuple[str, str, str]] | None:
    line = piece_of(f"{KEHERWA}lines:\n{lines}").lines[name]
    if line.struck is None:
        return None
    return [(str(note.start), str(note.length), note.symbol) for note in line.struck]


def findings(lines: str) -> list[Finding]:
    text = with_heading(f"{KEHERWA}lines:\n{lines}")
    return list(read_piece("test.yaml", text.encode()).findings)


def test_without_a_word_the_rhythm_is_the_players_own() -> None:
    assert struck("  comp: {chords: 'S - - - | P - - -'}\n") is None
    assert struck("  comp: {chords: 'S - - - | P - - -', rhythm: own}\n") is None


def test_a_written_rhythm_is_the_text() -> None:
    assert struck("  comp: {chords: 'S -S - - | P - z -', rhythm: written}\n") == [
        ("0", "3/2", "S"), ("3/2", "5/2", "S"), ("4", "2", "P"),
    ]  # fmt: skip


def test_the_rhythm_of_a_line_goes_round_under_the_chords() -> None:
    """A rhythm of one cycle under two; a strike ends with its chord, a rest is struck nowhere."""
    lines = (
        "  beat: {strokes: 'dha -ge z tin | na - - -'}\n"
        "  comp: {chords: 'S - - - | - m - - || P - z - | - - - -', rhythm: beat}\n"
    )
    assert struck(lines) == [
        ("0", "3/2", "S"), ("3/2", "1/2", "S"), ("3", "1", "S"), ("4", "1", "S"),
        ("8", "3/2", "P"), ("19/2", "1/2", "P"),
    ]  # fmt: skip


def test_bodies_begin_together() -> None:
    lines = (
        "  beat: {begins: 8, sargam: 'P | S - R - | G - z'}\n"
        "  comp: {chords: 'S - - - | P - - -', rhythm: beat}\n"
    )
    assert struck(lines) == [
        ("0", "2", "S"), ("2", "2", "S"), ("4", "2", "P"), ("7", "1", "P"),
    ]  # fmt: skip


def test_a_chain_has_the_rhythms_of_its_links() -> None:
    lines = (
        "  one: {chords: 'S -S - - | P - - -', rhythm: written}\n"
        "  two: {chords: 'm - - - | P - - -', rhythm: one}\n"
        "  own: {chords: 'm - - - | P - - -'}\n"
        "  comp: {chain: [one, two]}\n  other: {chain: [one, own]}\n"
    )
    assert struck(lines) == [
        ("0", "3/2", "S"), ("3/2", "5/2", "S"), ("4", "4", "P"), ("8", "3/2", "m"),
        ("19/2", "5/2", "m"), ("12", "4", "P"),
    ]  # fmt: skip
    assert struck(lines, "other") is None


def test_a_line_that_is_only_a_rhythm_is_used() -> None:
    lines = (
        "  head: {sargam: 'S - - - | P - - -'}\n  beat: {strokes: 'dha - - - | na - - -'}\n"
        "  comp: {chords: 'S - - - | P - - -', rhythm: beat}\nform: [{play: comp}, {play: head}]\n"
    )
    piece = piece_of(f"{KEHERWA}lines:\n{lines}")
    assert "beat" in piece.heard_lines
    assert piece.lines["comp"].parts == ("beat",)


def test_a_rhythm_of_no_line_and_of_no_chords_is_found() -> None:
    found = findings("  comp: {chords: 'S - - - | P - - -', rhythm: writen}\n")
    assert [(one.rule, one.tries[:1]) for one in found] == [("unknown-name", ("written",))]
    found = findings("  head: {sargam: 'S - - - | P - - -', rhythm: written}\n")
    assert [one.rule for one in found] == ["wrong-value"]
    found = findings("  comp: {chords: 'S - - - | P - - -', rhythm: comp}\n")
    assert [one.message for one in found] == ["'comp' would contain itself"]


@given(
    st.lists(st.sampled_from(["S", "P7", "-", "z", "Sm", "mP"]), min_size=8, max_size=24),
    st.lists(st.sampled_from(["dha", "-", "z", "-na"]), min_size=8, max_size=8),
)
def test_every_strike_is_one_of_the_rhythm_within_its_chord(
    cells: list[str], strokes: list[str]
) -> None:
    cells = cells[: len(cells) // 8 * 8]
    piece = piece_of(
        f"{KEHERWA}lines:\n  beat: {{strokes: '{' '.join(strokes)}'}}\n"
        f"  comp: {{chords: '{' '.join(cells)}', rhythm: beat}}\n"
    )
    comp, beat = piece.lines["comp"], piece.lines["beat"]
    assert comp.struck is not None
    places = {note.start % 8 for note in beat.notes}
    wanted = [
        (start, note.chord)
        for note in comp.notes
        for start in sorted(
            Fraction(place) + 8 * number for place in places for number in range(len(cells) // 8)
        )
        if note.start <= start < note.end
    ]
    assert [(note.start, note.chord) for note in comp.struck] == wanted
    ends = [note.end for note in comp.notes]
    for note in comp.struck:
        assert note.end <= min(end for end in ends if end > note.start)
