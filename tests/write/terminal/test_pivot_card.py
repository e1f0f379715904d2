"""The card of two modes side by side, whole: tones, tuning, drone, phrases, and what else to do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from cyclechart.theory.mode import Mode
from cyclechart.theory.pivots import ModePair, Pivot
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tuning import own_tuning
from cyclechart.write.terminal.pivot_card import DEFERS, PlacedPair, pivot_card

FIVE = Mode(name="Five", ascent=(0, 2, 4, 7, 9, 12), descent=(12, 9, 7, 4, 2, 0), rests=(0, 4, 7))
FLAT = Mode(name="Flat", ascent=(0, 1, 4, 7, 8, 12), descent=(12, 8, 7, 4, 1, 0), rests=(0, 7))
THIRD = Mode(
    name="A Mode of the Third", ascent=(0, 3, 5, 8, 10, 12), descent=(12, 10, 8, 5, 3, 0),
    rests=(0, 5, 8), drone=5,
)  # fmt: skip
"""The tones of FIVE from its third up."""
C, D, F_SHARP = Tonic("C"), Tonic("D"), Tonic("F", 1)


def card(
    pair: ModePair,
    tonics: tuple[Tonic, Tonic] = (C, C),
    pivots: Sequence[Pivot] = (),
    others: Sequence[tuple[Tonic, int]] = (),
    most: int = 4,
) -> list[str]:
    lines = list(pivot_card(PlacedPair(pair, tonics), pivots, others, most))
    assert lines[-2:] == ["", f"  {DEFERS}"]
    return lines[:-2]


def test_two_modes_on_two_sas() -> None:
    """The second Sa is the first's third, a pure one: 386 cents and not 400. What the two have in
    common is tuned 14 cents higher from a tempered F♯ (a just third is 5/4)."""
    pair = ModePair(FIVE, THIRD, 4)
    pivots = [
        Pivot((4, 2, 0, -3, 0), (0, -2, -4, -7, -4), "phrase", "first"),
        Pivot((0, 2, 4), (-4, -2, 0), "path", "second"),
        Pivot((7, 9, 7), (3, 5, 3), "phrases of both", ""),
    ]
    assert card(pair, (D, F_SHARP), pivots, most=2) == [
        "Five on D, then A Mode of the Third on F♯",
        "  in both             D  E  F♯  A  B",
        "  Five                S  R  G   P  D",
        "  A Mode of the Thi…  d  n  S   g  m",
        "  goes      nothing",
        "  comes     nothing",
        "  rests     both may rest on D F♯",
        "  tuned     in A Mode of the Third, by cents: D 14 higher, E 14 higher, F♯ 14 higher, "
        "A 14 higher, B",
        "            14 higher",
        "  drone     from D A to F♯ B",
        "",
        "  Phrases that are legal in both and end where both may rest:",
        "",
        "   1  a phrase of Five; ends on S, which becomes d",
        "      Five                G   R   S   D,  S",
        "      A Mode of the Thi…  S   n,  d,  m,  d,",
        "      letters             F♯  E   D   B   D",
        "",
        "   2  from the paths of A Mode of the Third; ends on G, which becomes S",
        "      Five                S   R   G",
        "      A Mode of the Thi…  d,  n,  S",
        "      letters             D   E   F♯",
        "",
        "  1 more: --most 3 shows them all",
    ]


def test_two_modes_on_one_sa() -> None:
    pivots = [Pivot((4, 7, 0), (4, 7, 0), "part of a phrase", "second")]
    lines = [
        "Five on C, then Flat on C, on the same Sa",
        "  in both   C  E  G",
        "  sargam    S  G  P",
        "  goes      D (R), A (D)",
        "  comes     D♭ (r), A♭ (d)",
        "  rests     both may rest on C G",
        "",
    ]
    assert card(ModePair(FIVE, FLAT), pivots=pivots, most=1) == [
        *lines,
        "  Phrases that are legal in both and end where both may rest:",
        "",
        "   1  part of a phrase of Flat; ends on S",
        "      sargam    G  P  S",
        "      letters   E  G  C",
    ]
    assert card(ModePair(FIVE, FLAT)) == [
        *lines,
        "  No phrase is legal in both and ends where both may rest.",
        "  Hold a tone over the change: C (S, which stays S), or G (P, which stays P); then begin "
        "in Flat.",
    ]


def test_what_is_held_over_changes_its_name_with_the_sa() -> None:
    others = [(Tonic("A"), 3), (Tonic("B", -1), 1)]
    assert card(ModePair(FIVE, THIRD, 4), (D, F_SHARP), others=others)[-4:] == [
        "  No phrase is legal in both and ends where both may rest.",
        "  Hold a tone over the change: D (S, which becomes d), or F♯ (G, which becomes S); then "
        "begin in A",
        "  Mode of the Third.",
        "  With A Mode of the Third on another Sa there are phrases for both: 3 on A, 1 on B♭.",
    ]


def test_where_both_rest_on_nothing_in_common() -> None:
    """THIRD a semitone up has 1 4 6 9 11: 4 and 9 are FIVE's too, and it rests on 1 6 9."""
    lines = card(ModePair(FIVE, THIRD, 1), (C, Tonic("D", -1)))
    assert not any(line.startswith("  rests") for line in lines)
    assert " ".join(" ".join(lines[-2:]).split()) == (
        "No common tone (E A) is one that both rest on: let the drums play on alone, or end, then "
        "begin in A Mode of the Third."
    )


def test_two_modes_without_a_tone_in_common() -> None:
    """FIVE a semitone up has 1 3 5 8 10, none of 0 2 4 7 9."""
    lines = card(ModePair(FIVE, replace(FIVE, name="Up"), 1), (C, Tonic("D", -1)))
    assert lines[1:4] == [
        "  in both   no tone",
        "  goes      C (S), D (R), E (G), G (P), A (D)",
        "  comes     D♭ (S), E♭ (R), F (G), A♭ (P), B♭ (D)",
    ]
    assert lines[-1] == (
        "  They have no tone in common: end the one, let drums and drone play on, then begin."
    )


@pytest.mark.parametrize(
    ("cents", "said"),
    [
        (4.4, None),
        (4.6, "E 5 higher"),
        (-4.4, None),
        (-4.6, "E 5 lower"),
        (21.4, "E 21 higher"),
    ],
)
def test_a_common_tone_that_moves_by_five_cents_is_named(cents: float, said: str | None) -> None:
    just = 386.3137
    moved = replace(FIVE, name="Moved", tuning=own_tuning({4: just + cents}))
    rows = [line for line in card(ModePair(FIVE, moved)) if line.startswith("  tuned")]
    assert rows == ([f"  tuned     in Moved, by cents: {said}"] if said else [])


def test_the_drone_is_named_where_its_strings_change() -> None:
    assert "  drone     from C G to C F" in card(ModePair(FIVE, replace(FIVE, drone=5)))
    assert not any(line.startswith("  drone") for line in card(ModePair(FIVE, FIVE)))
