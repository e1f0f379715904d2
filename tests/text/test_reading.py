"""Good and bad cells: the meaning of the text of a line, and the findings where it has none
(piece-language.md, 'The text of a melodic line', 'The text of a drum line').

Octave marks, grace notes, rests and decorations are written as in the ABC 2.1 standard: ``'`` and
``,`` after the note, ``{ }`` before it, ``z``, ``!name!``.
"""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from support.line_texts import STROKES, cut, finding_places, read_text

from cyclechart.text.line_tree import MARKS, Cell, Element, Group, Item, Repeat, SectionMark
from cyclechart.text.scripts import (
    DEGREES_SCRIPT,
    SARGAM_SCRIPT,
    SOLFA16_SCRIPT,
    Script,
    Value,
    letters_script,
)
from cyclechart.theory.spelling import Tonic

IN_D = letters_script(Tonic("D"))
HOLD, REST = Element("hold"), Element("rest")


def note(value: Value, *grace: Value, marks: str = "", glide: str = "") -> Element:
    return Element("note", value, grace, tuple(marks.split()), "<" in glide, ">" in glide)


def cell(*elements: Element | Value, parts: int = 1) -> Cell:
    made = tuple(e if isinstance(e, Element) else note(e) for e in elements)
    return Cell(made, parts)


def good(text: str, script: Script = SARGAM_SCRIPT) -> tuple[Item, ...]:
    items, findings = read_text(text, script)
    assert findings == []
    return items


GOOD: list[tuple[str, list[Item]]] = [
    ("S r R g G m", [cell(value) for value in range(6)]),
    ("M P d D n N", [cell(value) for value in range(6, 12)]),
    ("S' S'' N, N,,", [cell(12), cell(24), cell(-1), cell(-13)]),
    ("S - z", [cell(0), cell(HOLD), cell(REST)]),
    ("SR S-R GmPd", [cell(0, 2), cell(0, HOLD, 2), cell(4, 5, 7, 8)]),
    ("-R zS", [cell(HOLD, 2), cell(REST, 0)]),
    ("S'R,", [cell(12, -10)]),
    ("S/2 GR/3", [cell(0, parts=2), cell(4, 2, parts=3)]),
    ("{R}S {GR}S {N,}S", [cell(note(0, 2)), cell(note(0, 4, 2)), cell(note(0, -1))]),
    ("S~P", [cell(note(0, glide=">"), 7)]),
    ("S ~P", [cell(0), cell(note(7, glide="<"))]),
    ("S~ P", [cell(note(0, glide=">")), cell(7)]),
    ("S~~P", [cell(note(0, glide=">"), note(7, glide="<"))]),
    ("!andolan!g", [cell(note(3, marks="andolan"))]),
    ("!p!!trill!{R}S~", [cell(note(0, 2, marks="p trill", glide=">"))]),
    ("~!accent!{m}P'~", [cell(note(19, 5, marks="accent", glide="<>"))]),
    ("S | R || G", [cell(0), SectionMark(False), cell(2), SectionMark(True), cell(4)]),
    ("S|R||G", [cell(0), SectionMark(False), cell(2), SectionMark(True), cell(4)]),
    ("[S R]x3/2", [Group((cell(0), cell(2)), F(3, 2))]),
    ("[S]x2 [S]x007/4", [Group((cell(0),), F(2)), Group((cell(0),), F(7, 4))]),
    ("[S]dugun [S]tigun", [Group((cell(0),), F(2)), Group((cell(0),), F(3))]),
    ("[S]chaugun [S]adi", [Group((cell(0),), F(4)), Group((cell(0),), F(3, 2))]),
    ("[S]kuadi [S]biadi", [Group((cell(0),), F(5, 4)), Group((cell(0),), F(7, 4))]),
    ("[S [R]x2]x3", [Group((cell(0), Group((cell(2),), F(2))), F(3))]),
    ("(P | m)*3", [Repeat((cell(7), SectionMark(False), cell(5)), 3)]),
    ("(S [R]x2)*2", [Repeat((cell(0), Group((cell(2),), F(2))), 2)]),
    ("[(S R)*2]x2", [Group((Repeat((cell(0), cell(2)), 2),), F(2))]),
    ("S\tR\n\n  G", [cell(0), cell(2), cell(4)]),
    ("", []),
]


@pytest.mark.parametrize(("text", "items"), GOOD, ids=[text for text, _ in GOOD])
def test_what_a_text_means(text: str, items: list[Item]) -> None:
    assert good(text) == tuple(items)


@pytest.mark.parametrize("count", range(1, 17))
def test_a_beat_has_up_to_sixteen_parts(count: int) -> None:
    assert good("S" * count) == (cell(*[0] * count),)


@pytest.mark.parametrize("mark", MARKS)
def test_every_decoration_is_read(mark: str) -> None:
    assert good(f"!{mark}!S") == (cell(note(0, marks=mark)),)


def test_elements_and_cells_know_their_characters() -> None:
    first, group = good("S  [!trill!{R}G~m']x2")
    assert isinstance(first, Cell)
    assert isinstance(group, Group)
    assert (first.at, first.width, group.at, group.width) == (0, 1, 3, 18)
    inner = group.items[0]
    assert isinstance(inner, Cell)
    assert (inner.at, inner.width) == (4, 14)
    assert [(e.at, e.width) for e in inner.elements] == [(4, 12), (16, 2)]
    # The same text again has its own place.
    _, second = good("SR SR")
    assert isinstance(second, Cell)
    assert [e.at for e in second.elements] == [3, 4]


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("S # the first\nR", "S R"),
        ("# nothing yet\nS", "S"),
        ("S\n#\nR", "S R"),
        ("S # X [ ( ! {", "S"),
        ("S #", "S"),
    ],
)
def test_a_comment_reaches_to_the_end_of_its_line(text: str, kept: str) -> None:
    assert good(text) == good(kept)


def test_a_sign_of_sharpness_begins_no_comment() -> None:
    assert good("F# G", IN_D) == good("F♯ G", IN_D) == (cell(4), cell(5))
    assert good("1 #4 5", DEGREES_SCRIPT) == (cell(0), cell(6), cell(7))
    assert good("#41", DEGREES_SCRIPT) == (cell(6, 0),)
    assert good("F# # F# again\nG", IN_D) == (cell(4), cell(5))


SAME = [
    # (sargam, letters in D, degrees, the sixteen southern names): each column the same music.
    ("S R G m P D N", "D E F# G A B C#", "1 2 3 4 5 6 7", "S R2 G3 M1 P D2 N3"),
    ("S r g M d n", "D Eb F G# Bb C", "1 b2 b3 #4 b6 b7", "S R1 G2 M2 D1 N2"),
    ("S' N, P,,", "D' C#, A,,", "1' 7, 5,,", "S' N3, P,,"),
    ("SR G-P {R}S", "DE F#-A {E}D", "12 3-5 {2}1", "SR2 G3-P {R2}S"),
    ("n~D [g R]x3/2", "C~B [F E]x3/2", "b7~6 [b3 2]x3/2", "N2~D2 [G2 R2]x3/2"),
    ("gR g", "FE E#", "♭32 b3", "R3R2 R3"),
]


@pytest.mark.parametrize(("sargam", "letters", "degrees", "solfa"), SAME)
def test_the_scripts_write_the_same_music(
    sargam: str, letters: str, degrees: str, solfa: str
) -> None:
    wanted = good(sargam)
    assert good(letters, IN_D) == wanted
    assert good(degrees, DEGREES_SCRIPT) == wanted
    assert good(solfa, SOLFA16_SCRIPT) == wanted


@pytest.mark.parametrize("letter", ["C", "D", "E", "F", "G", "A", "B"])
@pytest.mark.parametrize("alter", [-1, 0, 1])
def test_a_letter_without_marks_lies_in_the_octave_from_sa_up(letter: str, alter: int) -> None:
    tonic = Tonic(letter, alter)
    script = letters_script(tonic)
    for name in "CDEFGAB":
        for sign in ("", "#", "b", "♯", "♭"):
            value = script.read(name + sign)
            assert isinstance(value, int)
            assert 0 <= value < 12
    assert script.read(letter + {-1: "b", 0: "", 1: "#"}[alter]) == 0


# Drum syllables, of a made-up drum: ti ta tit a dha ge na


@pytest.mark.parametrize(
    ("text", "syllables"),
    [
        ("dha ge", [["dha"], ["ge"]]),
        ("dhage", [["dha", "ge"]]),
        ("dhagena", [["dha", "ge", "na"]]),
        ("DhaGe", [["dha", "ge"]]),
        ("dha.ge", [["dha", "ge"]]),
        ("ti.ta", [["ti", "ta"]]),
        ("tit.a", [["tit", "a"]]),
        ("na-dha", [["na", "hold", "dha"]]),
        ("nazna", [["na", "rest", "na"]]),
        ("dhage/2", [["dha", "ge"]]),
    ],
)
def test_a_drum_cell_is_cut_into_syllables(text: str, syllables: list[list[str]]) -> None:
    cells = good(text, STROKES)
    assert [
        [str(e.value or e.kind) for e in made.elements] for made in cells if isinstance(made, Cell)
    ] == syllables


def test_graces_and_marks_stand_before_a_syllable_as_before_a_tone() -> None:
    (made,) = good("!accent!{ti.ta}dhage", STROKES)
    assert made == cell(note("dha", "ti", "ta", marks="accent"), "ge")
    assert good("{dhage}na", STROKES) == (cell(note("na", "dha", "ge")),)


def test_two_ways_of_cutting_are_shown_and_a_dot_settles_them() -> None:
    _, findings = read_text("dha tita ge", STROKES)
    assert finding_places(findings) == [("two-readings", 1, 5)]
    assert set(findings[0].tries) == {"ti.ta", "tit.a"}
    for shown in findings[0].tries:
        assert good(f"dha {shown} ge", STROKES)


def test_a_word_of_no_syllables_names_the_nearest() -> None:
    _, findings = read_text("dha dhaa", STROKES)
    assert findings == []  # dha a
    _, findings = read_text("dha dho", STROKES)
    assert finding_places(findings) == [("bad-cell", 1, 5)]
    assert "dha" in findings[0].tries


def test_the_made_up_table_is_what_it_says() -> None:
    assert sorted(cut("tita")) == [("ti", "ta"), ("tit", "a")]


# Bad cells, each with its rule and its column

BAD: list[tuple[str, Script, str, int]] = [
    ("S R X m", SARGAM_SCRIPT, "bad-cell", 5),
    ("S RX m", SARGAM_SCRIPT, "bad-cell", 4),
    ("s", SARGAM_SCRIPT, "bad-cell", 1),
    ("S p", SARGAM_SCRIPT, "bad-cell", 3),
    ("S _", SARGAM_SCRIPT, "bad-cell", 3),
    ("S',", SARGAM_SCRIPT, "bad-cell", 3),
    ("'S", SARGAM_SCRIPT, "bad-cell", 1),
    ("R S''''", SARGAM_SCRIPT, "bad-cell", 3),
    ("R S,,,,", SARGAM_SCRIPT, "bad-cell", 3),
    ("S/0", SARGAM_SCRIPT, "bad-cell", 2),
    ("S/65", SARGAM_SCRIPT, "too-long", 2),
    ("SR/999999999999", SARGAM_SCRIPT, "too-long", 3),
    ("S/x", SARGAM_SCRIPT, "bad-cell", 2),
    ("S/", SARGAM_SCRIPT, "bad-cell", 2),
    ("S/2/3", SARGAM_SCRIPT, "bad-cell", 2),
    ("/2", SARGAM_SCRIPT, "bad-cell", 1),
    ("R ~", SARGAM_SCRIPT, "bad-cell", 3),
    ("~-", SARGAM_SCRIPT, "bad-cell", 2),
    ("S !shake!R", SARGAM_SCRIPT, "bad-cell", 3),
    ("S !trill R", SARGAM_SCRIPT, "unclosed", 3),
    ("S !!R", SARGAM_SCRIPT, "unclosed", 3),
    ("S !trill!", SARGAM_SCRIPT, "bad-cell", 9),
    ("S !trill!-", SARGAM_SCRIPT, "bad-cell", 10),
    ("S {R", SARGAM_SCRIPT, "unclosed", 3),
    ("S {R}", SARGAM_SCRIPT, "bad-cell", 5),
    ("S {}R", SARGAM_SCRIPT, "bad-cell", 3),
    ("S {X}R", SARGAM_SCRIPT, "bad-cell", 4),
    ("S R}", SARGAM_SCRIPT, "unclosed", 4),
    ("S { R}G", SARGAM_SCRIPT, "unclosed", 3),
    ("S " + "R" * 17, SARGAM_SCRIPT, "too-long", 3),
    ("S {" + "R" * 17 + "}S", SARGAM_SCRIPT, "bad-cell", 3),
    ("S [R G", SARGAM_SCRIPT, "unclosed", 3),
    ("S (R G", SARGAM_SCRIPT, "unclosed", 3),
    ("S R]x2", SARGAM_SCRIPT, "unclosed", 4),
    ("S R)*2", SARGAM_SCRIPT, "unclosed", 4),
    ("S [R]", SARGAM_SCRIPT, "bad-cell", 5),
    ("S [R]x0", SARGAM_SCRIPT, "bad-cell", 5),
    ("S [R]x2/0", SARGAM_SCRIPT, "bad-cell", 5),
    ("S [R]x65", SARGAM_SCRIPT, "too-long", 5),
    ("S [R]x1/65", SARGAM_SCRIPT, "too-long", 5),
    ("S [R]tigan", SARGAM_SCRIPT, "bad-cell", 5),
    ("S [R | G]x2", SARGAM_SCRIPT, "bad-cell", 6),
    ("S [(R | G)*2]x2", SARGAM_SCRIPT, "bad-cell", 7),
    ("S (R)", SARGAM_SCRIPT, "bad-cell", 3),
    ("S (R)*0", SARGAM_SCRIPT, "too-long", 5),
    ("S (R)*1001", SARGAM_SCRIPT, "too-long", 5),
    ("S (R)3", SARGAM_SCRIPT, "bad-cell", 5),
    ("S " + "(" * 9 + "R" + ")*2" * 9, SARGAM_SCRIPT, "too-long", 11),
    ("D H", IN_D, "bad-cell", 3),
    ("D Ebb", IN_D, "bad-cell", 5),
    ("1 b5", DEGREES_SCRIPT, "bad-cell", 3),
    ("1 #2", DEGREES_SCRIPT, "bad-cell", 3),
    ("1 8", DEGREES_SCRIPT, "bad-cell", 3),
    ("S R4", SOLFA16_SCRIPT, "bad-cell", 3),
    ("S M3", SOLFA16_SCRIPT, "bad-cell", 3),
    ("S.R", SARGAM_SCRIPT, "bad-cell", 2),
    ("dha .", STROKES, "bad-cell", 5),
    ("dha foo", STROKES, "bad-cell", 5),
    ("dha tita", STROKES, "two-readings", 5),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "script", "rule", "column"), BAD, ids=[row[0][:20] for row in BAD]
)
def test_a_bad_cell_is_a_finding_in_its_place(
    text: str, script: Script, rule: str, column: int
) -> None:
    _, findings = read_text(text, script)
    assert finding_places(findings)[0] == (rule, 1, column)


@pytest.mark.parametrize(
    ("text", "script", "tried"),
    [
        ("s", SARGAM_SCRIPT, "S (Sa and Pa"),
        ("S p", SARGAM_SCRIPT, "P (Sa and Pa"),
        ("S _", SARGAM_SCRIPT, "a held tone is written -"),
        ("S !andolon!R", SARGAM_SCRIPT, "!andolan!"),
        ("[S R]tigan", SARGAM_SCRIPT, "]tigun"),
        ("[S R", SARGAM_SCRIPT, "]x3/2"),
    ],
)
def test_a_slip_is_answered_with_what_was_meant(text: str, script: Script, tried: str) -> None:
    _, findings = read_text(text, script)
    assert any(tried in shown for shown in findings[0].tries)


@pytest.mark.parametrize("degree", ["b5", "#5", "b4", "#1", "b1"])
def test_a_degree_that_is_none_is_not_called_too_far_from_sa(degree: str) -> None:
    _, findings = read_text(degree, DEGREES_SCRIPT)
    assert "octave" not in findings[0].message
    _, findings = read_text("1''''", DEGREES_SCRIPT)
    assert "octave" in findings[0].message


def test_a_bad_cell_becomes_a_rest_of_its_length_and_reading_goes_on() -> None:
    items, findings = read_text("S X R/2 Y/2 G")
    assert finding_places(findings) == [("bad-cell", 1, 3), ("bad-cell", 1, 9)]
    assert len(items) == 5
    assert items[1] == cell(REST)
    assert [items[0], items[2], items[4]] == [cell(0), cell(2, parts=2), cell(4)]


def test_findings_of_a_second_line_stand_on_the_second_line() -> None:
    _, findings = read_text("S R\n  G X\n| (m")
    assert finding_places(findings) == [("bad-cell", 2, 5), ("unclosed", 3, 3)]


def test_the_same_mistake_is_found_at_each_of_its_places() -> None:
    _, findings = read_text("X S X")
    assert finding_places(findings) == [("bad-cell", 1, 1), ("bad-cell", 1, 5)]


def test_no_more_findings_than_a_person_can_read() -> None:
    _, findings = read_text("X " * 500)
    assert len(findings) == 30


@pytest.mark.parametrize(
    "text",
    ["S" * 500_000, "S " * 200_000, "{" * 100_000, "!a" * 100_000, "[" * 100_000, "(" * 100_000,
     "S/" + "9" * 100_000, "(S)*" + "9" * 100_000, "[S]x" + "9" * 100_000, "S" + "'" * 100_000],
    ids=["cell", "cells", "braces", "marks", "groups", "repeats", "divisor", "times", "speed",
         "octaves"],
)  # fmt: skip
def test_an_absurd_text_is_a_finding_and_no_more_than_a_screenful(text: str) -> None:
    _, findings = read_text(text)
    assert 1 <= len(findings) <= 30
    assert all(len(found.message) < 300 for found in findings)


@pytest.mark.parametrize("opened", ["[", "(", "[("])
def test_nesting_too_deep_is_one_finding(opened: str) -> None:
    _, findings = read_text("S " + opened * 9 + "S")
    assert finding_places(findings) == [("too-long", 1, 11)]


def test_a_run_of_letters_too_long_for_a_cell_says_how_many_go_in() -> None:
    _, findings = read_text("dha" * 60, STROKES)
    assert finding_places(findings) == [("too-long", 1, 1)]
    assert "180 letters" in findings[0].message
    assert "16 syllables" in findings[0].message


def test_what_follows_the_length_of_a_cell_is_a_cell_of_its_own() -> None:
    _, (found,) = read_text("S R/2G/2 m", SARGAM_SCRIPT)
    assert found.message == "/2 ends a cell: what follows it is a cell of its own"
    assert found.tries == ("a space after /2",)
