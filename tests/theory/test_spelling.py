"""Spelling: the note on the staff sounds right, and a reader at sight can read it."""

from __future__ import annotations

import pytest
from music21.key import Key, KeySignature
from music21.pitch import Pitch

from cyclechart.theory.spelling import (
    LETTERS,
    LOWEST_SA,
    Spelled,
    Tonic,
    key_alter,
    nearest_signature,
    needs_respelling,
    readable_tonic,
    spell,
    written_tonic,
)

TONICS = [Tonic(letter, alter) for letter in LETTERS for alter in (-1, 0, 1)]
IN_MUSIC21 = {-1: "-", 0: "", 1: "#"}

# The six church modes by their tones (any book of theory), under music21's names for a key's mode.
CHURCH = {
    "major": (0, 2, 4, 5, 7, 9, 11),
    "lydian": (0, 2, 4, 6, 7, 9, 11),
    "mixolydian": (0, 2, 4, 5, 7, 9, 10),
    "dorian": (0, 2, 3, 5, 7, 9, 10),
    "minor": (0, 2, 3, 5, 7, 8, 10),
    "phrygian": (0, 1, 3, 5, 7, 8, 10),
}
MAJOR = CHURCH["major"]
TODI = (0, 1, 3, 6, 7, 8, 11)


def scale(tonic: Tonic, tones: tuple[int, ...]) -> str:
    return " ".join(str(spell(tonic, tone)) for tone in tones)


def test_there_are_21_tonics() -> None:
    assert len(TONICS) == 21


@pytest.mark.parametrize("tonic", TONICS, ids=str)
def test_sa_lies_on_a_treble_staff_and_sounds_its_letter(tonic: Tonic) -> None:
    # B♭3 is MIDI 58 and A4 is MIDI 69 (A4 = 69: the MIDI Tuning Standard).
    assert LOWEST_SA <= tonic.midi <= 69
    written = spell(tonic, 0)
    assert (written.step, written.alter) == (tonic.letter, tonic.alter)
    assert written.midi == tonic.midi


@pytest.mark.parametrize("tonic", TONICS, ids=str)
def test_every_pitch_on_every_tonic_sounds_right_without_double_accidentals(tonic: Tonic) -> None:
    for pitch in range(-30, 43):
        written = spell(tonic, pitch)
        assert written.midi == tonic.midi + pitch
        assert abs(written.alter) <= 1
        # Outside: music21 reads the name to the same MIDI key.
        name = f"{written.step}{IN_MUSIC21[written.alter]}{written.octave}"
        assert Pitch(name).midi == written.midi


@pytest.mark.parametrize(
    ("tonic", "tones", "letters"),
    [
        (Tonic("C"), tuple(range(12)), "C D♭ D E♭ E F F♯ G A♭ A B♭ B"),
        (Tonic("D"), (0, 2, 4, 5, 7, 8, 10), "D E F♯ G A B♭ C"),
        (Tonic("E", -1), TODI, "E♭ F♭ G♭ A B♭ C♭ D"),
        (Tonic("F", 1), MAJOR, "F♯ G♯ A♯ B C♯ D♯ E♯"),
        (Tonic("C", -1), MAJOR, "C♭ D♭ E♭ F♭ G♭ A♭ B♭"),
        # The leading tone of G♯ would be F double sharp; the neighbouring letter reads.
        (Tonic("G", 1), MAJOR, "G♯ A♯ B♯ C♯ D♯ E♯ G"),
    ],
)
def test_tones_are_spelled_by_scale_steps(
    tonic: Tonic, tones: tuple[int, ...], letters: str
) -> None:
    assert scale(tonic, tones) == letters


def test_octave_numbers_turn_at_c() -> None:
    # Scientific pitch: middle C is C4, MIDI 60; the B below it is B3, and C♭4 sounds B3.
    assert spell(Tonic("C"), 0) == Spelled("C", 0, 4)
    assert spell(Tonic("C"), -1) == Spelled("B", 0, 3)
    assert spell(Tonic("C", -1), 0) == Spelled("C", -1, 4)
    assert Spelled("C", -1, 4).midi == 59
    assert Spelled("B", 1, 3).midi == 60


@pytest.mark.parametrize("fifths", range(-7, 8))
def test_a_signature_alters_the_letters_that_it_should(fifths: int) -> None:
    # Outside: music21's key signatures.
    altered = {p.step: int(p.accidental.alter) for p in KeySignature(fifths).alteredPitches}
    assert {letter: key_alter(fifths, letter) for letter in LETTERS} == {
        letter: altered.get(letter, 0) for letter in LETTERS
    }


@pytest.mark.parametrize("mode", CHURCH)
@pytest.mark.parametrize("tonic", TONICS, ids=str)
def test_a_church_mode_gets_its_own_signature(tonic: Tonic, mode: str) -> None:
    # Outside: music21 knows how many fifths the key of each church mode has.
    fifths = Key(tonic.letter + IN_MUSIC21[tonic.alter], mode).sharps
    if abs(fifths) <= 7:
        assert nearest_signature(tonic, CHURCH[mode]) == fifths
    else:  # no such signature is printed, because it would need double signs
        assert needs_respelling(tonic, CHURCH[mode])


@pytest.mark.parametrize(
    ("tonic", "tones", "fifths"),
    [
        # D E F♯ A B: one sharp leaves nothing over, and so would two; the fewer signs are taken.
        (Tonic("D"), (0, 2, 4, 7, 9), 1),
        # D E F♯ G A B♭ C: one of F♯ and B♭ stays an accidental; a natural tonic takes the sharp.
        (Tonic("D"), (0, 2, 4, 5, 7, 8, 10), 1),
        # E♭ F♭ G♭ A B♭ C♭ D: six flats leave A, D and F♭ over, seven the two of A and D.
        (Tonic("E", -1), TODI, -7),
    ],
)
def test_the_nearest_signature_leaves_fewest_accidentals(
    tonic: Tonic, tones: tuple[int, ...], fifths: int
) -> None:
    assert nearest_signature(tonic, tones) == fifths


@pytest.mark.parametrize("tonic", TONICS, ids=str)
def test_no_signature_is_nearer_than_the_nearest(tonic: Tonic) -> None:
    def accidentals(fifths: int) -> int:
        notes = {spell(tonic, tone) for tone in TODI}
        return sum(key_alter(fifths, note.step) != note.alter for note in notes)

    chosen = nearest_signature(tonic, TODI)
    assert accidentals(chosen) == min(map(accidentals, range(-7, 8)))


@pytest.mark.parametrize(
    ("tonic", "tones", "written"),
    [
        (Tonic("G", 1), MAJOR, Tonic("A", -1)),
        (Tonic("D", 1), MAJOR, Tonic("E", -1)),
        (Tonic("A", 1), MAJOR, Tonic("B", -1)),
        (Tonic("E", 1), MAJOR, Tonic("F")),
        (Tonic("B", 1), MAJOR, Tonic("C")),
        (Tonic("F", -1), MAJOR, Tonic("E")),
        (Tonic("C", 1), CHURCH["lydian"], Tonic("D", -1)),
        (Tonic("G", -1), CHURCH["minor"], Tonic("F", 1)),
        # These read as they stand, and stay the composer's.
        (Tonic("G", 1), CHURCH["minor"], Tonic("G", 1)),
        (Tonic("F", 1), MAJOR, Tonic("F", 1)),
        (Tonic("G", -1), MAJOR, Tonic("G", -1)),
        # Seven signs give way to five.
        (Tonic("C", 1), MAJOR, Tonic("D", -1)),
        (Tonic("C", -1), MAJOR, Tonic("B")),
        (Tonic("F", 1), CHURCH["lydian"], Tonic("G", -1)),
        (Tonic("D"), TODI, Tonic("D")),
        # C♯ wants F double sharp here and D♭ wants E double flat: neither is better.
        (Tonic("C", 1), TODI, Tonic("C", 1)),
    ],
)
def test_a_chart_takes_the_enharmonic_twin_only_where_that_alone_reads(
    tonic: Tonic, tones: tuple[int, ...], written: Tonic
) -> None:
    assert readable_tonic(tonic, tones) == written


@pytest.mark.parametrize("tonic", TONICS, ids=str)
@pytest.mark.parametrize("tones", [*CHURCH.values(), TODI], ids=[*CHURCH, "todi"])
def test_the_written_tonic_sounds_the_same_and_reads_no_worse(
    tonic: Tonic, tones: tuple[int, ...]
) -> None:
    def hard(on: Tonic) -> tuple[bool, bool]:
        """Double accidentals first, then a signature of seven signs."""
        return needs_respelling(on, tones), abs(nearest_signature(on, tones)) == 7

    written = readable_tonic(tonic, tones)
    assert written.semitone == tonic.semitone
    twins = [twin for twin in TONICS if twin.semitone == tonic.semitone]
    if tonic.alter == 0:
        assert written == tonic
    elif written != tonic:
        assert hard(written) < hard(tonic)
    else:
        assert not [twin for twin in twins if hard(twin) < hard(tonic)]


def test_a_passage_in_seven_sharps_is_written_in_flats() -> None:
    # Lydian on F sharp has seven sharps, on G flat five flats (the circle of fifths); in a piece
    # that has all twelve tones the passage is asked by itself.
    lydian = (0, 2, 4, 6, 7, 9, 11)
    assert str(written_tonic(Tonic("F", 1), range(12), lydian)) == "G♭"
    assert str(written_tonic(Tonic("F", 0), range(12), lydian)) == "F"
