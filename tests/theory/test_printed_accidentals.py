"""The key signature of a mode in a part: the common ones as ever, elsewhere fewest accidentals."""

from __future__ import annotations

import random

import pytest

from cyclechart.theory.printed_accidentals import (
    left_to_accidentals,
    printed_accidentals,
    signature_remark,
    written_signature,
)
from cyclechart.theory.spelling import TONICS, Tonic, nearest_signature, readable_tonic, spell

CHURCH = {
    "bilawal": (0, 2, 4, 5, 7, 9, 11),
    "kafi": (0, 2, 3, 5, 7, 9, 10),
    "bhairavi": (0, 1, 3, 5, 7, 8, 10),
    "kalyan": (0, 2, 4, 6, 7, 9, 11),
    "khamaj": (0, 2, 4, 5, 7, 9, 10),
    "asavari": (0, 2, 3, 5, 7, 8, 10),
}
CHARUKESHI = (0, 2, 4, 5, 7, 8, 10)
BHAIRAV = (0, 1, 4, 5, 7, 8, 11)
KIRWANI = (0, 2, 3, 5, 7, 8, 11)
TODI = (0, 1, 3, 6, 7, 8, 11)
PURYA_DHANASHREE = (0, 1, 4, 6, 7, 8, 11)
MARWA = (0, 1, 4, 6, 9, 11)
F_SHARP, C, A, D, E, E_FLAT = (
    Tonic("F", 1), Tonic("C"), Tonic("A"), Tonic("D"), Tonic("E"), Tonic("E", -1),
)  # fmt: skip

PLAYERS_AGREE = [
    # Any harmony book's signatures: major, Dorian, Phrygian, Lydian, Mixolydian, natural minor.
    (C, CHURCH["bilawal"], 0),
    (E_FLAT, CHURCH["bilawal"], -3),
    (D, CHURCH["kafi"], 0),
    (E, CHURCH["bhairavi"], 0),
    (D, CHURCH["kalyan"], 3),
    (A, CHURCH["khamaj"], 2),
    (C, CHURCH["asavari"], -3),
    # One tone strange to the signature: harmonic minor on its minor signature, and so on.
    (A, KIRWANI, 0),
    (D, KIRWANI, -1),
    (F_SHARP, CHARUKESHI, 3),
    (C, CHARUKESHI, -1),
    (C, MARWA, 1),
    # None fits: two sharps and A♯, B♯, E♯, not seven sharps and two naturals.
    (F_SHARP, PURYA_DHANASHREE, 2),
    (F_SHARP, TODI, 2),
    (C, BHAIRAV, 0),
    (D, BHAIRAV, 2),
    (C, TODI, -4),
]


@pytest.mark.parametrize(("tonic", "tones", "fifths"), PLAYERS_AGREE)
def test_the_signatures_that_players_expect(
    tonic: Tonic, tones: tuple[int, ...], fifths: int
) -> None:
    assert written_signature(tonic, tones, []) == fifths


@pytest.mark.parametrize("tonic", TONICS, ids=str)
@pytest.mark.parametrize("name", CHURCH)
def test_a_mode_with_a_signature_has_it_whatever_is_played(tonic: Tonic, name: str) -> None:
    tones = CHURCH[name]
    read = readable_tonic(tonic, tones)
    fifths = written_signature(read, tones, [[1, 3, 1, 3], [6, 6]])
    assert fifths == nearest_signature(read, tones)
    assert not left_to_accidentals(read, tones, fifths) and abs(fifths) <= 6


def test_where_none_fits_the_notes_that_are_written_decide() -> None:
    """Bhairav on C: its flats are printed as often as they are played."""
    assert written_signature(C, BHAIRAV, [[0, 4, 11, 12]]) == 0
    assert written_signature(C, BHAIRAV, [[8, 7, 1, 0], [1, 5, 8, 7]]) == -4
    for fifths, count in ((0, 4), (-4, 0)):
        assert printed_accidentals(C, fifths, [[8, 7, 1, 0], [1, 5, 8, 7]]) == count


def test_an_accidental_holds_in_its_measure_on_its_own_line() -> None:
    assert printed_accidentals(C, 0, [[1, 1, 1]]) == 1
    assert printed_accidentals(C, 0, [[1], [1]]) == 2
    assert printed_accidentals(C, 0, [[1, 13]]) == 2, "another octave has its own"
    assert printed_accidentals(C, 0, [[1, 2, 1]]) == 3, "a natural, and the flat again"


@pytest.mark.parametrize("seed", range(40))
def test_no_signature_of_six_signs_at_most_prints_fewer(seed: int) -> None:
    dice = random.Random(seed)
    tones = tuple(sorted({0, *dice.sample(range(1, 12), 6)}))
    tonic = dice.choice(TONICS)
    measures = [[dice.choice(tones) for _ in range(5)] for _ in range(8)]
    chosen = written_signature(tonic, tones, measures)
    assert abs(chosen) <= 6
    if len(left_to_accidentals(tonic, tones, nearest_signature(tonic, tones, most=6))) <= 1:
        return
    printed = {key: printed_accidentals(tonic, key, measures) for key in range(-6, 7)}
    assert printed[chosen] == min(printed.values())
    assert abs(chosen) == min(abs(k) for k, count in printed.items() if count == printed[chosen])


def test_the_choice_is_put_in_words() -> None:
    said = signature_remark(F_SHARP, PURYA_DHANASHREE, 2)
    assert said == "2 sharps, A♯ B♯ E♯ marked"
    assert str(spell(F_SHARP, 6)) == "B♯"
    assert signature_remark(C, BHAIRAV, 0) == "no signature, D♭ A♭ marked"
    assert signature_remark(Tonic("G"), BHAIRAV, -1).startswith("1 flat, ")
    assert signature_remark(A, KIRWANI, 0) == "" == signature_remark(C, CHURCH["kafi"], -2)
