"""The text of a line of chords: its cells, and what is said of a cell that cannot be read."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.making import with_heading

from cyclechart.finding import Finding
from cyclechart.piece.line import Line
from cyclechart.piece.load import read_piece
from cyclechart.text.chord_script import chords_script
from cyclechart.text.line_tree import Cell, Element, write_cell
from cyclechart.theory.chord_qualities import COMMON, degrees_of
from cyclechart.theory.chord_symbols import ChordSymbol
from cyclechart.theory.spelling import Tonic

D = Tonic("D")


def line_of(text: str, more: str = "") -> tuple[Line | None, list[Finding]]:
    """A line of chords in a piece on D, and the findings of its reading."""
    piece = with_heading(f"lines:\n  head: {{lands: free, chords: '{text}'{more}}}\n")
    loaded = read_piece("test.yaml", piece.encode())
    found = [finding for finding in loaded.findings if finding.severity == "error"]
    return (loaded.piece.lines.get("head") if loaded.piece is not None else None), found


def timed(text: str) -> list[tuple[str, str, str]]:
    """Start, length and symbol of each chord of a text, which has no fault."""
    line, found = line_of(text)
    assert line is not None
    assert not found, found
    return [(str(note.start), str(note.length), note.symbol) for note in line.notes]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("Dm7 - - - | G/D - Asus -", [("0", "4", "Dm7"), ("4", "2", "G/D"), ("6", "2", "Asus")]),
        ("Dm7G7 Cmaj7", [("0", "1/2", "Dm7"), ("1/2", "1/2", "G7"), ("1", "1", "Cmaj7")]),
        ("Dm7/2 G/D/2 C6/9", [("0", "1/2", "Dm7"), ("1/2", "1/2", "G/D"), ("1", "1", "C6/9")]),
        ("C6/9/4 C6/4 z -", [("0", "1/4", "C6/9"), ("1/4", "1/4", "C6")]),
        ("Dm7-G7 -A7", [("0", "2/3", "Dm7"), ("2/3", "5/6", "G7"), ("3/2", "1/2", "A7")]),
        ("(Dm7 G7)*2", [("0", "1", "Dm7"), ("1", "1", "G7"), ("2", "1", "Dm7"), ("3", "1", "G7")]),
        ("C7(b9) Cm(maj7)z", [("0", "1", "C7(b9)"), ("1", "1/2", "Cm(maj7)")]),
        ("[Dm7 G7 C]x3/2", [("0", "2/3", "Dm7"), ("2/3", "2/3", "G7"), ("4/3", "2/3", "C")]),
        ("!accent!Dm7 !p!G7", [("0", "1", "Dm7"), ("1", "1", "G7")]),
        ("S Pm7 mmaj7 n/S", [("0", "1", "S"), ("1", "1", "Pm7"), ("2", "1", "mmaj7"),
                             ("3", "1", "n/S")]),
        ("S.M SM7", [("0", "1/2", "S"), ("1/2", "1/2", "M"), ("1", "1", "SM7")]),
        ("D G7 D/G", [("0", "1", "D"), ("1", "1", "G7"), ("2", "1", "D/G")]),
    ],
)  # fmt: skip
def test_cells_are_cut_as_ever(text: str, wanted: list[tuple[str, str, str]]) -> None:
    assert timed(text) == wanted


@pytest.mark.parametrize(
    ("text", "roots"),
    [
        ("D A7 G/B", [(0, None), (7, None), (5, 9)]),
        ("D G", [(0, None), (5, None)]),
        ("Dm(maj7) G7(b9) C", [(0, None), (5, None), (10, None)]),
        ("E♭Δ7 D♭7 F#m7b5", [(1, None), (11, None), (4, None)]),
        ("D G S", [(9, None), (4, None), (0, None)]),
        ("m7 G/r", [(5, None), (4, 1)]),
        ("# in S\n D", [(0, None)]),
    ],
)
def test_a_text_is_in_letters_unless_a_root_is_in_sargam_alone(
    text: str, roots: list[tuple[int, int | None]]
) -> None:
    if text.startswith("#"):
        script = chords_script(text, D)
        assert script.find is not None
        found = script.find("D", 0)
        assert found is not None
        assert isinstance(found[0], ChordSymbol)
        assert found[0].root == 0
        return
    line, found_wrong = line_of(text)
    assert line is not None
    assert not found_wrong
    chords = [note.chord for note in line.notes if note.chord is not None]
    assert [(chord.root, chord.bass) for chord in chords] == roots


@pytest.mark.parametrize(
    ("text", "column", "says", "tries"),
    [
        ("C-7 D", 0, "'C-7' is not a chord symbol", ("Cm7",)),
        ("D C-7b5", 2, "'C-7b5' is not a chord symbol", ("Cm7b5",)),
        ("CMaj7", 0, "'CMaj7' is not a chord symbol", ("Cmaj7",)),
        ("SMaj7 P", 0, "'SMaj7' is not a chord symbol", ("Smaj7",)),
        ("D Am7sus4", 2, "'Am7sus4' is not a chord symbol", ("A7sus4", "Asus4", "A9sus4")),
        ("am7 D", 0, "'am7' is not a chord symbol", ("Am7",)),
        ("D H7", 2, "'H7' is not a chord symbol", ("B7",)),
        ("C2", 0, "'C2' is not a chord symbol", ("Cadd9",)),
        ("A^7", 0, "'A^7' is not a chord symbol", ("Amaj7",)),
        ("D C/", 2, "a bass is missing after 'C/'", ("C/D, or C alone",)),
        ("D C7/2F7/2", 2, "/2 ends a cell: what follows it is a cell of its own",
         ("a space after /2",)),
        ("D C/Q", 2, "'Q' is no bass", ("C/D, or C alone",)),
        ("C N.C.", 2, "no chord is written z", ("z",)),
        ("C %", 2, "a chord that goes on is written -", ("-",)),
        ("C7 S", 3, "'S' is in degrees, but the roots before it are in letters",
         ("write all roots of the text in letters",)),
        ("S C7", 2, "'C7' is in letters, but the roots before it are in degrees",
         ("write all roots of the text in degrees",)),
        ("{D}C", 0, "a chord has no glide and no grace notes", ("C",)),
        ("C~ D", 0, "a chord has no glide and no grace notes", ("C",)),
    ],
)  # fmt: skip
def test_a_bad_symbol_gets_the_nearest_that_exists(
    text: str, column: int, says: str, tries: tuple[str, ...]
) -> None:
    _, found = line_of(text)
    assert len(found) == 1
    assert found[0].rule == "bad-cell"
    assert found[0].message == says
    assert found[0].tries == tries
    first = len("  head: {lands: free, chords: '") + 1
    assert found[0].spot.column == first + column
    # What is tried can be read.
    for tried in tries:
        if " " not in tried:
            read, wrong = line_of(tried)
            assert read is not None or tried in "-z"
            assert not [one for one in wrong if one.rule == "bad-cell"]


@given(st.text(alphabet="ABCDEFGHSRgmPdnN7b#9/-z~(){}!.° mj135", max_size=14))
def test_no_text_of_a_cell_is_too_much(text: str) -> None:
    """Whatever is written, it is read or answered; and what is answered is an error of its cell."""
    line, found = line_of(text)
    if line is None:
        assert found or not text.strip()
    elif not found:
        assert all(note.chord is not None for note in line.notes)


CHORDS = st.builds(
    lambda root, suffix: ChordSymbol(
        root, tuple(tone for _, tone in degrees_of(suffix) or ()), suffix
    ),
    st.integers(0, 11),
    st.sampled_from(COMMON),
)


@given(st.lists(CHORDS, min_size=1, max_size=5), st.sampled_from(["S", "C"]))
def test_a_cell_that_is_written_is_read_as_the_same(chords: list[ChordSymbol], names: str) -> None:
    script = chords_script(names, D)
    cell = Cell(tuple(Element("note", chord) for chord in chords))
    text = write_cell(cell, script)
    line, found = line_of(f"{names}/64 {text}")
    assert not found
    assert line is not None
    read = [note.chord for note in line.notes[1:] if note.chord is not None]
    assert [(one.root, one.tones) for one in read] == [(one.root, one.tones) for one in chords]
