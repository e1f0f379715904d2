"""Which notes are under a hairpin or a slur."""

from __future__ import annotations

import pytest
from support.making import piece_of

from cyclechart.piece.hairpins_and_slurs import (
    HAIRPIN_ENDS,
    Hairpin,
    hairpins_of,
    slurred_notes,
    slurs_of,
    with_hairpin_ends,
)
from cyclechart.piece.note import Note
from cyclechart.piece.phrase_edits import without_front


def notes_of(sargam: str) -> tuple[Note, ...]:
    text = f"lines:\n  head:\n    lands: free\n    sargam: |\n      {sargam}\n"
    return piece_of(text).lines["head"].notes


@pytest.mark.parametrize(
    ("sargam", "expected"),
    [
        ("S R G", []),
        ("S !cresc!R G !f!m P", [Hairpin(1, 2, "cresc", "f")]),
        ("S !cresc!R G m", [Hairpin(1, 3, "cresc")]),
        ("!cresc!S R !dim!G m", [Hairpin(0, 1, "cresc"), Hairpin(2, 3, "dim")]),
        ("!cresc!S - !ff!R", [Hairpin(0, 0, "cresc", "ff")]),
        ("!p!!cresc!S R", [Hairpin(0, 1, "cresc")]),
        ("(!dim!S R)*2 !p!G", [Hairpin(0, 1, "dim"), Hairpin(2, 3, "dim", "p")]),
    ],
)
def test_a_hairpin_lasts_until_the_next_dynamic(sargam: str, expected: list[Hairpin]) -> None:
    notes = notes_of(sargam)
    assert list(hairpins_of(notes)) == expected
    marked = with_hairpin_ends(notes)
    ends = [at for at, note in enumerate(marked) if HAIRPIN_ENDS in note.marks]
    assert ends == [hairpin.last for hairpin in expected]
    assert [(h.first, h.last, h.kind) for h in hairpins_of(marked)] == [
        (h.first, h.last, h.kind) for h in expected
    ]


def test_notes_without_hairpins_are_the_same_notes() -> None:
    notes = notes_of("!p!S (R G) !f!m")
    assert with_hairpin_ends(notes) is notes


@pytest.mark.parametrize(
    ("sargam", "expected"),
    [
        ("S (R G m) P", [(1, 3)]),
        ("(S R)(G m)", [(0, 1), (2, 3)]),
        ("((S R) G)*2", [(0, 1), (3, 4)]),
        ("(S [R G m]x3/2 P)", [(0, 4)]),
        ("[(S R) G m]x2", [(0, 1)]),
        ("(- S - R -)", [(0, 1)]),
        ("((S R)*2 G)", [(0, 4)]),
    ],
)
def test_a_slur_goes_from_its_first_note_to_its_last(
    sargam: str, expected: list[tuple[int, int]]
) -> None:
    notes = notes_of(sargam)
    assert list(slurs_of(notes)) == expected
    inside = {at for first, last in expected for at in range(first + 1, last + 1)}
    assert slurred_notes(notes) == inside


@pytest.mark.parametrize(
    ("gone", "left"), [(0, [(0, 2), (4, 5)]), (1, [(0, 1), (3, 4)]), (2, [(2, 3)]), (5, [])]
)
def test_a_slur_that_is_cut_joins_what_is_left(gone: int, left: list[tuple[int, int]]) -> None:
    text = "lines:\n  head:\n    lands: free\n    sargam: (S R G) m (P d)\n"
    phrase = piece_of(text).lines["head"].phrase
    cut = without_front(phrase, phrase.notes[gone].start)
    assert list(slurs_of(cut.notes)) == left
    ends = [note.slur for note in cut.notes if note.slur]
    assert ends == ["starts", "ends"] * len(left)


def test_an_end_without_its_start_is_no_slur() -> None:
    notes = notes_of("(S R) (G m)")
    assert list(slurs_of(notes[1:])) == [(1, 2)]
    assert list(slurs_of(notes[:3])) == [(0, 1)]


def test_words_above_are_those_of_the_text() -> None:
    notes = notes_of('!"<b>&amp; # \\ $x$ | ("!S !accent!!"2nd time \'only\'"!R G')
    assert [note.text for note in notes] == ["<b>&amp; # \\ $x$ | (", "2nd time 'only'", ""]
