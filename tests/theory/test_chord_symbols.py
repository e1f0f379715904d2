"""Chord symbols against music21's own reading of them: ``harmony.ChordSymbol(figure).pitches``.

Figures are made systematically: every root with every quality in turn, and with every bass.
"""

from __future__ import annotations

from functools import cache
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import harmony

from cyclechart.theory.chord_qualities import COMMON, degrees_of
from cyclechart.theory.chord_symbols import (
    DEGREE_ROOTS,
    ChordSymbol,
    letter_roots,
    nearest_in,
    symbol_at,
    write_symbol,
)
from cyclechart.theory.spelling import LETTERS, NATURAL, TONICS, Tonic
from cyclechart.theory.tones import SARGAM

C = Tonic("C")
ROOTS = ("C", "Db", "C#", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B", "Cb", "E#")

SAME_AS_WRITTEN = (
    "m", "dim", "o", "+", "aug", "sus", "sus2", "sus4", "6", "m6", "7", "maj7", "M7", "m7", "min7",
    "mM7", "dim7", "o7", "m7b5", "ø7", "7b5", "7#5", "+7", "aug7", "maj7#5", "maj7b5", "9", "M9",
    "m9", "mM9", "11", "M11", "m11", "13", "M13", "m13", "7b9", "7#9", "7#11", "7b13", "7b5b9",
    "7#5#9", "7#5b9", "7b5#9", "7b9b13", "7b9#11", "7#9b13", "9b5", "9#5", "9#11", "maj7#11",
    "m7b9", "m9b5", "m11b5", "m7b13", "m7add11", "add9", "add2", "add4", "add11", "madd9", "madd11",
    "7add13", "7sus4", "7sus", "7susb9", "7omit5", "omit3", "addb9", "add#11", "dim9", "13b5",
    "+9", "aug9", "+11",
)  # fmt: skip
"""Qualities that music21 reads in the very spelling that is read here."""
OTHER_SPELLING = {
    "": "", "5": "power", "mi7": "m7", "ma7": "maj7", "Δ7": "maj7", "Δ": "maj7", "mmaj7": "mM7",
    "m(maj7)": "mM7", "mΔ": "mM7", "maj9": "M9", "maj11": "M11", "maj13": "M13", "°": "dim",
    "°7": "dim7", "ø": "ø7", "Ø7": "ø7", "9ø": "ø9", "7+": "7#5", "7+5": "7#5", "7(b9)": "7b9",
    "7(b9,#11)": "7b9#11", "7♭5": "7b5", "7no5": "7omit5", "no3": "omit3", "7b9sus4": "7susb9",
    "+maj7": "+M7", "ø9": "ø9",
}  # fmt: skip
"""Spellings that music21 does not read, with one of the same chord that it does."""
NOT_ASKED = {
    "6/9": "music21 reads 69 as the root, the sixth and the ninth, without third and fifth",
    "m6/9": "music21 has no such abbreviation",
    "13b9": "music21 keeps the natural ninth of its thirteenth and drops the flat one",
    "13#9": "music21 keeps the natural ninth of its thirteenth and drops the sharp one",
    "13#11": "music21 keeps the natural eleventh of its thirteenth and drops the sharp one",
    "7alt": "music21 has no such abbreviation",
    "9sus4": "music21 has no such abbreviation",
    "13sus4": "music21 has no such abbreviation",
}
"""Qualities that are left out of the comparison, each with the reason; they are checked below."""


@cache
def read_by_music21(root: str, quality: str, bass: str = "") -> tuple[frozenset[int], int]:
    """The pitch classes of a symbol and that of its bass, as music21 reads them."""
    signs = str.maketrans({"b": "-"})
    figure = root[0] + root[1:].translate(signs) + quality
    if bass:
        figure += f"/{bass[0]}{bass[1:].translate(signs)}"
    chord = harmony.ChordSymbol(figure)
    assert chord.bass() is not None
    return frozenset(pitch.pitchClass for pitch in chord.pitches), int(chord.bass().pitchClass)


def read_here(text: str, tonic: Tonic = C) -> tuple[frozenset[int], int]:
    found = symbol_at(text, 0, letter_roots(tonic))
    assert found is not None, text
    symbol, end = found
    assert end == len(text), text
    above = frozenset((tonic.semitone + tone) % 12 for tone in symbol.pitch_classes)
    return above, (tonic.semitone + symbol.lowest) % 12


def figures() -> list[tuple[str, str, str]]:
    """Root, quality here, quality for music21: every quality on five roots that differ."""
    both = [(one, one) for one in SAME_AS_WRITTEN]
    both += [(here, there) for here, there in OTHER_SPELLING.items() if here != "9ø"]
    return [
        (ROOTS[(number + step) % len(ROOTS)], here, there)
        for number, (here, there) in enumerate(both)
        for step in (0, 3, 7, 10, 13)
    ]


def test_there_are_more_than_400_of_them() -> None:
    assert len(set(figures())) > 400
    assert {root for root, _, _ in figures()} == set(ROOTS)


@pytest.mark.parametrize(("here", "there"), sorted({(here, there) for _, here, there in figures()}))
def test_symbols_agree_with_music21(here: str, there: str) -> None:
    for root, own, other in figures():
        if (own, other) == (here, there):
            assert read_here(root + here) == read_by_music21(root, there), root + here


@pytest.mark.parametrize("root", ["C", "Eb", "F#", "A"])
def test_basses_agree_with_music21(root: str) -> None:
    for quality, bass in product(("", "m7", "7", "maj7", "sus4"), ROOTS[:13]):
        if NATURAL[bass[0]] + len(bass) == NATURAL[root[0]] + len(root):
            continue
        there = read_by_music21(root, quality, bass)
        assert read_here(f"{root}{quality}/{bass}") == there, (root, quality, bass)


@pytest.mark.parametrize(
    ("quality", "tones"),
    [
        ("6/9", {0, 4, 7, 9, 2}), ("69", {0, 4, 7, 9, 2}), ("m6/9", {0, 3, 7, 9, 2}),
        ("13b9", {0, 4, 7, 10, 1, 5, 9}), ("13#9", {0, 4, 7, 10, 3, 5, 9}),
        ("13#11", {0, 4, 7, 10, 2, 6, 9}), ("9sus4", {0, 5, 7, 10, 2}),
        ("13sus4", {0, 5, 7, 10, 2, 9}), ("7alt", {0, 1, 3, 4, 6, 8, 10}),
    ],
)  # fmt: skip
def test_those_that_music21_does_not_read_are_as_in_handbooks(
    quality: str, tones: set[int]
) -> None:
    """(C. Brandt and C. Roemer, Standardized Chord Symbol Notation; M. Levine, The Jazz Theory
    Book: 7alt is the seventh mode of the melodic minor; from memory.)"""
    assert quality in NOT_ASKED or quality == "69"
    assert read_here(f"C{quality}") == (tones, 0)


@pytest.mark.parametrize(
    "text",
    ["", "H7", "c7", "-7", "%", "/D", "N.C.", "#7", "b7"],
)
def test_what_has_no_root_is_no_symbol(text: str) -> None:
    assert symbol_at(text, 0, letter_roots(C)) is None


@pytest.mark.parametrize(
    "quality",
    ["Maj7", "8", "7b7", "m5", "dim6", "ø6", "msus4", "7b9b9", "(", "7(", "7(b9", "77", "m7m", "()",
     "#", "b", "2", "7#13", "9" * 30],
)  # fmt: skip
def test_qualities_that_mean_nothing(quality: str) -> None:
    assert degrees_of(quality) is None


def test_the_longest_reading_is_taken_and_what_follows_is_left() -> None:
    letters = letter_roots(C)
    for text, end in [
        ("Dm7G7", 3),
        ("C6/9", 4),
        ("C6/G", 4),
        ("Dm7/2", 3),
        ("Cm7m7", 3),
        ("CD", 1),
    ]:
        found = symbol_at(text, 0, letters)
        assert found is not None
        assert found[1] == end, text
    for text, root, end in [
        ("Pm7", 7, 3),
        ("m7", 5, 2),
        ("mmaj7", 5, 5),
        ("SM", 0, 1),
        ("SM7", 0, 3),
    ]:
        found = symbol_at(text, 0, DEGREE_ROOTS)
        assert found is not None
        assert (found[0].root, found[1]) == (root, end), text


@given(
    st.sampled_from(TONICS), st.sampled_from(ROOTS), st.sampled_from(COMMON),
    st.sampled_from(("", *ROOTS)),
)  # fmt: skip
def test_a_symbol_that_is_written_is_read_as_the_same(
    tonic: Tonic, root: str, quality: str, bass: str
) -> None:
    names = letter_roots(tonic)
    found = symbol_at(f"{root}{quality}" + (f"/{bass}" if bass else ""), 0, names)
    assert found is not None
    again = symbol_at(write_symbol(found[0], names), 0, names)
    assert again is not None
    assert again[0] == found[0]
    in_degrees = symbol_at(write_symbol(found[0], DEGREE_ROOTS), 0, DEGREE_ROOTS)
    assert in_degrees is not None
    assert in_degrees[0].pitch_classes == found[0].pitch_classes


@given(st.sampled_from(TONICS), st.sampled_from(TONICS), st.sampled_from(SARGAM))
def test_the_letters_of_another_sa_name_the_same_degree(
    tonic: Tonic, other: Tonic, degree: str
) -> None:
    """A reader of another Sa has other letters for the same tones, none with two signs."""
    symbol = ChordSymbol(SARGAM.index(degree), (0, 4, 7, 10), "7")
    for sa in (tonic, other):
        text = symbol.in_letters(sa).replace("♭", "b").replace("♯", "#")
        found = symbol_at(text, 0, letter_roots(sa))
        assert found is not None
        assert (found[0].root, found[1]) == (symbol.root, len(text))


@given(st.sampled_from(TONICS), st.sampled_from(TONICS), st.sampled_from(ROOTS))
def test_counted_from_another_sa_it_is_the_same_chord(
    tonic: Tonic, other: Tonic, root: str
) -> None:
    found = symbol_at(f"{root}m7/E", 0, letter_roots(tonic))
    assert found is not None
    steps = LETTERS.index(tonic.letter) - LETTERS.index(other.letter)
    moved = found[0].counted_from(tonic.midi - other.midi, steps)
    assert moved.in_letters(other) == found[0].in_letters(tonic)
    assert moved.pitch_classes == {
        (tone + tonic.semitone - other.semitone) % 12 for tone in found[0].pitch_classes
    }


def test_letters_keep_the_staff_step_they_were_written_on() -> None:
    letters = letter_roots(Tonic("D"))
    flat, sharp = (symbol_at(text, 0, letters) for text in ("Ab7", "G#7"))
    assert flat is not None
    assert sharp is not None
    assert (flat[0].in_letters(Tonic("C")), sharp[0].in_letters(Tonic("C"))) == ("G♭7", "F♯7")


def test_the_nearest_chord_of_some_tones() -> None:
    """Worked out by hand: the Dorian mode on D has the same degree, another tone."""
    dorian = frozenset({0, 2, 3, 5, 7, 9, 10})
    letters = letter_roots(Tonic("D"))
    for text, nearest in [("Dmaj7", "Dm7"), ("G7b9", "G9"), ("E7", "Em7"), ("Dm(maj7)", "Dm7")]:
        found = symbol_at(text, 0, letters)
        assert found is not None
        near = nearest_in(found[0], dorian)
        assert near is not None
        assert near.pitch_classes <= dorian
        assert write_symbol(near, letters) == nearest
