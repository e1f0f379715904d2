"""Tidy texts: the same music, byte for byte the same outside of them, and twice is once."""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.making import DEMO_BOOK, FEW_PIECE_SEEDS, load_text, random_piece, with_heading
from support.tree_strategies import trees

from cyclechart.catalog import kit
from cyclechart.catalog.strokes import strokes
from cyclechart.draft.tidy import tidied
from cyclechart.piece.load import Loaded
from cyclechart.text.line_tree import write_items
from cyclechart.text.scripts import SARGAM_SCRIPT, Script
from cyclechart.text.source import Source


def tidy_text(text: str) -> str:
    return tidied(Source.of("test.yaml", text))


def music(loaded: Loaded) -> str:
    """A piece as data without its places in the file."""
    told = [(one.rule, one.message) for one in loaded.findings]
    return re.sub(r"Spot\([^)]*\)", "", f"{loaded.piece!r} {told}")


def laid(text: str, key: str = "sargam", more: str = "") -> str:
    """The rows of a text, tidied in a line of its own."""
    rows = "\n".join(f"      {row}" for row in text.strip("\n").split("\n"))
    file = with_heading(f"lines:\n  head:\n{more}    {key}: |\n{rows}\n  end: {{sargam: S}}\n")
    new = tidy_text(file)
    assert new.startswith(file[: file.index(f"{key}: |")])
    assert new.endswith("  end: {sargam: S}\n")
    assert music(load_text(new)) == music(load_text(file))
    assert tidy_text(new) == new
    body = new[new.index(f"{key}: |\n") + len(key) + 4 : new.rindex("  end:")]
    return "".join(row[6:] + "\n" for row in body.split("\n")[:-1])


def test_cells_and_bars_stand_under_each_other() -> None:
    assert laid("S R G m | P\t-  - -||\nG mP R S | n, - - S ||") == (
        "S R  G m | P  - - - ||\n"
        "G mP R S | n, - - S ||\n"
    )  # fmt: skip


def test_a_pickup_stands_by_itself_and_the_rest_below_its_body() -> None:
    assert laid("P n || S' - (n P) | - m g R ||\nS n, S | -R g m P ||\nS") == (
        "P n || S' -  (n P) | -  m g R ||\n"
        "       S  n, S     | -R g m P ||\n"
        "       S\n"
    )  # fmt: skip


def test_a_whole_cycle_at_the_beginning_is_no_pickup() -> None:
    assert laid("S R G m || P d n S' ||\nG m P d || S") == (
        "S R G m || P d n S' ||\n"
        "G m P d || S\n"
    )  # fmt: skip


def test_cells_of_a_group_stand_where_they_come_in_time() -> None:
    assert laid("[S R G P]dugun | N -\nG - | P S") == (
        "[S R G P]dugun | N -\n"
        "G    -         | P S\n"
    )  # fmt: skip


def test_what_is_long_pushes_no_other_row() -> None:
    long = '!"as if from the other bank of the river"!S R G m | P - - -'
    assert laid(f"S R G m | P - - -\n{long}\nG R S - | R - - - ||") == (
        f"S R G m | P - - -\n{long}\nG R S - | R - - - ||\n"
    )
    run = "[S R G m P d n S' R' S' n d P m G R]chaugun | P - - -"
    assert laid(f"S R GG m | P - - -\n{run}\nG R S - | R - - - ||") == (
        f"S R GG m | P - - -\n{run}\nG R S  - | R - - - ||\n"
    )


def test_a_landing_that_is_held_makes_no_room_before_the_bars_of_others() -> None:
    assert laid("P - | m GR | G m ||\nS - - - - - - - z") == (
        "P - | m GR | G m ||\n"
        "S - - - - - - - z\n"
    )  # fmt: skip


def test_comments_stay_and_those_behind_cells_stand_under_each_other() -> None:
    text = "# the  first\nS R G   # up\nmP d n S'     # and   on\n\n#  last\nS R\nmP d"
    assert laid(text) == (
        "# the  first\nS  R G     # up\nmP d n S'  # and   on\n\n#  last\nS  R\nmP d\n"
    )


def test_wide_letters_take_two_columns_and_marks_on_letters_none() -> None:
    """Unicode Standard Annex 11: East Asian wide characters take two columns."""
    assert laid('!"漢字"!S R\nG m', "sargam") == '!"漢字"!S R\nG         m\n'
    assert laid('!"कु"!S R\nG m') == '!"कु"!S R\nG      m\n'


@pytest.mark.parametrize(
    ("key", "text", "tidy"),
    [
        ("strokes", "dha dhin dhin\ntirakita dha z", "dha      dhin dhin\ntirakita dha  z\n"),
        ("letters", "D Eb E F#\nC# D E F", "D  Eb E F#\nC# D  E F\n"),
        ("degrees", "1 b2 3 4\nb7, 1 2 3", "1   b2 3 4\nb7, 1  2 3\n"),
        ("solfa16", "S R2 G3 M1\nN3, S R1 G3", "S   R2 G3 M1\nN3, S  R1 G3\n"),
        ("chords", "Dm7 - - -\nC7(b9) G/B - -", "Dm7    -   - -\nC7(b9) G/B - -\n"),
        ("kit", "k+h h s+h hh\nk {s}s s -", "k+h h    s+h hh\nk   {s}s s   -\n"),
    ],
)  # fmt: skip
def test_every_kind_of_text_is_tidied(key: str, text: str, tidy: str) -> None:
    assert laid(text, key) == tidy


def test_words_stand_under_their_cells_where_each_row_is_sung_on_one() -> None:
    file = with_heading(
        "lines:\n  head:\n    sargam: |\n      S - R G\n      GR S - n,\n"
        "    words: |\n      or-an-ges\n      and ap-ples red\n"
    )
    new = tidy_text(file)
    assert "      S       - R   G\n      GR      S -   n,\n" in new
    assert "      or-       an- ges\n      and ap- ples  red\n" in new
    assert music(load_text(new)) == music(load_text(file))
    assert tidy_text(new) == new


def test_words_that_run_on_over_the_rows_are_left_alone() -> None:
    words = "    words: |\n      one   two three four five\n      six\n"
    file = with_heading(f"lines:\n  head:\n    sargam: |\n      S R G m\n      P d\n{words}")
    assert words in tidy_text(file)


def test_texts_in_a_cadence_are_tidied() -> None:
    file = with_heading(
        "lines:\n  head:\n    cadence:\n      cadence:\n        body: |\n          dha dhin\n"
        "          tirakita dha\n        strokes: |\n          dha - dha\n          ge  na ta\n"
    )
    new = tidy_text(file)
    assert "          dha      dhin\n          tirakita dha\n" in new
    assert "          dha -  dha\n          ge  na ta\n" in new
    assert music(load_text(new)) == music(load_text(file))


@pytest.mark.parametrize(
    "text",
    [
        "sargam: S R G m |\n      Pd n S' z",
        "sargam: 'S R G'' m |\n      Pd n  S'' z'",
        'sargam: "S R  G m |\n      Pd n S\' z"',
        "sargam: >\n      S R G m |\n      Pd n S' z",
        "sargam: |2\n      S R G m |\n      Pd n S' z",
    ],
)
def test_texts_in_every_style_of_yaml(text: str) -> None:
    file = with_heading(f"lines:\n  head:\n    {text}\nform: [play: head]\n")
    new = tidy_text(file)
    assert music(load_text(new)) == music(load_text(file))
    assert tidy_text(new) == new
    assert "S  R" in new


@pytest.mark.parametrize(
    "text",
    [
        "S R X m |\n      Pd   n S' z",
        "[S R\n      Pd   n",
        "S R]x2\n     n",
    ],
)
def test_a_text_that_cannot_be_read_is_left_alone(text: str) -> None:
    file = with_heading(f"lines:\n  head:\n    sargam: |\n      {text}\n")
    assert tidy_text(file) == file


@pytest.mark.parametrize("text", ["", "[", "a: [b", "lines: [1]", "lines: {a: 3}", "- x\n- y"])
def test_a_file_that_is_no_piece_is_left_alone(text: str) -> None:
    assert tidy_text(text) == text


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_pieces_of_the_demo_book(path: Path) -> None:
    text = path.read_text("utf-8")
    new = tidy_text(text)
    assert new.split() == text.split() or "words" in text
    assert music(load_text(new, path.parent)) == music(load_text(text, path.parent))
    assert tidy_text(new) == new


@pytest.mark.parametrize("seed", FEW_PIECE_SEEDS)
def test_random_pieces_over_several_rows(seed: int) -> None:
    dice = random.Random(seed)
    text = random_piece(seed)
    rows = [
        re.sub(r" (?![^\[(!]*[\])])", lambda _: dice.choice([" ", "  ", "\n      "]), row)
        if row.startswith("      ")
        else row
        for row in text.split("\n")
    ]
    broken = "\n".join(
        row[:6] + rest.lstrip("\n ") if row.startswith("      ") else row
        for row, rest in zip(rows, (row[6:] for row in rows), strict=True)
    )
    new = tidy_text(broken)
    assert music(load_text(new)) == music(load_text(broken))
    assert tidy_text(new) == new


SCRIPTS: dict[str, Script] = {
    "sargam": SARGAM_SCRIPT,
    "strokes": strokes().script(),
    "kit": kit.script(),
}
SPACES = st.sampled_from([" ", " ", "  ", "\t", "\n      ", "\n        ", "\n\n      "])
COMMENTS = st.sampled_from(["", "", "", "  # a # b", "\t#", ' # |: ][ !"x'])


@given(st.data(), st.sampled_from(["sargam", "strokes", "kit"]))
@settings(max_examples=150, deadline=None)
def test_any_text_says_the_same_and_twice_is_once(data: st.DataObject, key: str) -> None:
    script = SCRIPTS[key]
    values = {
        "sargam": st.integers(-36, 47),
        "strokes": st.sampled_from(["dha", "dhin", "ta", "na"]),
        "kit": st.sampled_from(["kick", "snare", "kick+rim"]),
    }
    pitched = key == "sargam"
    items = data.draw(trees(values[key], pitched=pitched))
    words = re.split(r' (?=(?:[^"]*"[^"]*")*[^"]*$)', write_items(items, script))
    text = words[0]
    for word in words[1:]:
        space = data.draw(SPACES)
        if "\n" in space:
            text += data.draw(COMMENTS)
        text += space + word
    file = with_heading(f"lines:\n  head:\n    {key}: |\n      {text}\n  other: {{sargam: S}}\n")
    new = tidy_text(file)
    assert music(load_text(new)) == music(load_text(file))
    assert tidy_text(new) == new, new
    assert new.split("\n")[:8] == file.split("\n")[:8]
    assert new.endswith("  other: {sargam: S}\n")
