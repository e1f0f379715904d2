"""Kit texts: letters of drums, several at once, and what is wrong in them."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.line_texts import passage, read_text
from support.tree_strategies import trees

from cyclechart.catalog.kit import DRUMS, HINT, script, struck_at_once
from cyclechart.text.line_tree import ORNAMENTS, Item, write_items
from cyclechart.text.timing import time_line

KIT = script()
NAMES = [drum.name for drum in DRUMS if drum.letter]
STRUCK = st.lists(st.sampled_from(NAMES), min_size=1, max_size=4, unique=True).map("+".join)


@settings(max_examples=60, deadline=None)
@given(items=trees(STRUCK, pitched=False))
def test_a_tree_of_drums_is_read_back(items: tuple[Item, ...]) -> None:
    again, findings = read_text(write_items(items, KIT), KIT)
    assert findings == []
    assert again == items


def test_cells_elements_and_drums_at_once() -> None:
    items, findings = read_text("k+h hh !accent!{s}s+x k+hh -h z", KIT)
    timed, late = time_line(items, passage(""))
    assert findings == late == []
    assert [(s.start, s.length, struck_at_once(str(s.value))) for s in timed.strikes] == [
        (F(0), F(1), ("kick", "hat")),
        (F(1), F(1, 2), ("hat",)),
        (F(3, 2), F(1, 2), ("hat",)),
        (F(2), F(1), ("snare", "rim")),
        (F(3), F(1, 2), ("kick", "hat")),
        (F(7, 2), F(1), ("hat",)),  # held: nothing new is struck
        (F(9, 2), F(1, 2), ("hat",)),
    ]
    flam = timed.strikes[3]
    assert (flam.grace, flam.marks) == (("snare",), ("accent",))


@pytest.mark.parametrize(
    ("text", "says", "tries"),
    [
        ("k q h", "'q' is not a drum of the kit", [HINT]),
        ("K+h", "'K' is not a drum of the kit", ["k (the letters are small)", HINT]),
        ("k+q", "'q' is not a drum of the kit", [HINT]),
        ("k+", "'+' stands between two drums", [HINT]),
        ("+k", "'+' stands between two drums", [HINT]),
        ("k++s", "'+' stands between two drums", [HINT]),
        ("k+z", "'+' stands between two drums", [HINT]),
        ("s+h+s", "'s+h+s' has 's' twice at once", ["s+h"]),
        ("k, h", "',' is not a drum of the kit", [HINT]),
        ("k~s", "a drum cannot glide", ["leave out the ~"]),
        ("k ~s", "a drum cannot glide", ["leave out the ~"]),
        ("{q}s", "'q' is not a drum of the kit", [HINT]),
        ("!acent!s", "there is no decoration 'acent'", ["!accent!"]),
    ],
)
def test_what_is_wrong_is_said_with_the_letters_that_exist(
    text: str, says: str, tries: list[str]
) -> None:
    _, findings = read_text(text, KIT)
    assert [(f.rule, f.message, list(f.tries)) for f in findings] == [("bad-cell", says, tries)]


@pytest.mark.parametrize("mark", ORNAMENTS)
def test_a_drum_has_no_ornament_of_a_tone(mark: str) -> None:
    _, (finding,) = read_text(f"!{mark}!s", KIT)
    assert finding.message == f"a drum cannot have !{mark}!"


def test_the_hint_names_every_letter() -> None:
    said = HINT.removeprefix("the letters are ").partition(";")[0].replace(",", "").split()
    assert {word for word in said if len(word) == 1} == {d.letter for d in DRUMS if d.letter}


@given(st.text("kshortbfcxml+-z{}!~/. ", max_size=30))
def test_no_text_is_too_strange_to_be_read(text: str) -> None:
    items, _ = read_text(text, KIT)
    time_line(items, passage(text))
