"""Words above notes, hairpins, cut-offs and slurs in a text: what is read and what is refused."""

from __future__ import annotations

import pytest
from support.line_texts import STROKES, finding_places, read_text

from cyclechart.text.line_tree import MAX_TEXT, Cell, Slur
from cyclechart.text.scripts import SARGAM_SCRIPT, Script


@pytest.mark.parametrize(
    ("text", "script", "rule", "column", "says"),
    [
        ('S !""!R', SARGAM_SCRIPT, "bad-cell", 3, "no words"),
        ('S !"  "!R', SARGAM_SCRIPT, "bad-cell", 3, "no words"),
        ('S !"a\x07b"!R', SARGAM_SCRIPT, "bad-cell", 3, "control characters"),
        ('S !"a\u2028b"!R', SARGAM_SCRIPT, "bad-cell", 3, "control characters"),
        ('S !"on cue R', SARGAM_SCRIPT, "unclosed", 3, "quotes"),
        ('S !"one"!!"two"!R', SARGAM_SCRIPT, "bad-cell", 10, "one text"),
        (f'S !"{"a" * (MAX_TEXT + 1)}"!R', SARGAM_SCRIPT, "too-long", 3, "at most 60"),
        ('S !"on cue"!-', SARGAM_SCRIPT, "bad-cell", 13, "not before a held note"),
        ("S !cut!z", SARGAM_SCRIPT, "bad-cell", 8, "not before a rest"),
        ("S !cresc!!dim!R", SARGAM_SCRIPT, "bad-cell", 3, "at once"),
        ("S !cresc!(R G)", SARGAM_SCRIPT, "bad-cell", 9, "after the '('"),
        ("S (R)", SARGAM_SCRIPT, "bad-cell", 3, "one note"),
        ("S (R - -)", SARGAM_SCRIPT, "bad-cell", 3, "one note"),
        ("S (z z)", SARGAM_SCRIPT, "bad-cell", 3, "no note"),
        ("S (R (G m))", SARGAM_SCRIPT, "bad-cell", 3, "inside another"),
        ("S (R ((G m) P)*2)", SARGAM_SCRIPT, "bad-cell", 3, "inside another"),
        ("S (R G)m", SARGAM_SCRIPT, "bad-cell", 7, "a space: that is a slur"),
        ("S (R G", SARGAM_SCRIPT, "unclosed", 3, "never closed"),
        ("ta (ti ta)", STROKES, "bad-cell", 4, "joins tones"),
    ],
)  # fmt: skip
def test_what_cannot_stand_is_one_finding_in_its_place(
    text: str, script: Script, rule: str, column: int, says: str
) -> None:
    _, findings = read_text(text, script)
    assert finding_places(findings) == [(rule, 1, column)]
    assert says in findings[0].message
    assert findings[0].tries


def test_a_bad_cell_under_a_slur_is_the_only_finding() -> None:
    _, findings = read_text("(S X) R")
    assert finding_places(findings) == [("bad-cell", 1, 4)]


@pytest.mark.parametrize(
    "words",
    [
        "2nd time # only", "a | b || c", "(brushes) [all]x2", "{loud}", 'the "old" way', 'say "hi"',
        "1/2 speed", "!now", "<script>alert(1)</script>", "#sys.inputs $x$ *b* _i_ @ref", "ता ना",
        "👩‍👩‍👧", "a\u202eb", "--", '"', "x" * MAX_TEXT,
    ],
)  # fmt: skip
def test_any_words_are_data(words: str) -> None:
    items, findings = read_text(f'S !"{words}"!R/2 G')
    assert findings == []
    _, cell, _ = items
    assert isinstance(cell, Cell)
    assert (cell.elements[0].text, cell.elements[0].value, cell.parts) == (words, 2, 2)


def test_a_comment_after_words_is_a_comment() -> None:
    items, findings = read_text('!"# one"!S # !"two"!R')
    assert findings == [] and len(items) == 1


def test_slurs_stand_in_groups_and_repeats_and_hold_groups() -> None:
    items, findings = read_text("[(S R) G]x2 ((G m) P)*2 (S [R G]x3/2) (P d)(n S')")
    assert findings == []
    assert sum(isinstance(item, Slur) for item in items) == 3
