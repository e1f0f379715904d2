"""The brackets over the notes: statements of a cadence and groups at a speed."""

from __future__ import annotations

from support.making import piece_of

from cyclechart.arrange.sheet.brackets import Bracket, line_brackets


def spans(text: str) -> list[Bracket]:
    piece = piece_of(f"lines:\n  head:\n    {text}\n", cycle="tintal")
    return list(line_brackets(piece.lines["head"]))


def test_a_line_without_either_has_none() -> None:
    assert spans("sargam: S R G m") == []


def test_groups_at_a_speed_say_their_ratio_and_the_word_that_is_written() -> None:
    assert spans("sargam: S [R G m P]dugun [d n S']x3/2") == [
        Bracket("speed", 1, 4, "×2 dugun"),
        Bracket("speed", 5, 7, "×3/2"),
    ]


def test_a_group_that_goes_on_says_nothing_again() -> None:
    labels = [span.label for span in spans("sargam: '[S R]x2 [G m]x2 P [d n]x2'")]
    assert labels == ["×2", "", "×2"]


def test_a_group_at_the_common_speed_or_without_a_note_is_not_marked() -> None:
    assert spans("sargam: '[S R]x1 [- -]x2 [z z]x2 G'") == []


def test_statements_are_numbered_and_the_first_says_how_many() -> None:
    found = spans("cadence: {sargam: P m GR G S, gap: 1, body: S R}")
    assert [(span.first, span.last, span.label) for span in found] == [
        (2, 7, "×3, gap 1"),
        (8, 13, "2"),
        (14, 19, "3"),
    ]
    assert {span.kind for span in found} == {"statement"}


def test_rounds_are_numbered() -> None:
    found = spans("cadence: {gap: 2, cadence: {sargam: P m G, gap: 0}}")
    labels = " ".join(span.label for span in found)
    assert labels == "1.1 1.2 1.3 2.1 2.2 2.3 3.1 3.2 3.3"


def test_groups_within_statements_come_after_them() -> None:
    found = spans("cadence: {sargam: '[P m]x2 G', gap: 0}")
    assert [(span.kind, span.first, span.last) for span in found] == [
        ("statement", 0, 2), ("speed", 0, 1),
        ("statement", 3, 5), ("speed", 3, 4),
        ("statement", 6, 8), ("speed", 6, 7),
    ]  # fmt: skip
