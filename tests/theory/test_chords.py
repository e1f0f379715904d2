"""Triads and sevenths against music21's names, and the pull of a chord on a worked-out table."""

from __future__ import annotations

import random
from functools import cache
from itertools import combinations

import pytest
from music21 import chord, harmony

from cyclechart.theory.chords import Chord, sevenths, triads
from cyclechart.theory.tones import SEMITONE

NAMES = {
    "": "major triad",
    "m": "minor triad",
    "dim": "diminished triad",
    "aug": "augmented triad",
    "maj7": "major seventh chord",
    "7": "dominant seventh chord",
    "m7": "minor seventh chord",
    "m(maj7)": "minor-augmented tetrachord",
    "m7♭5": "half-diminished seventh chord",
    "dim7": "diminished seventh chord",
    "maj7♯5": "augmented major tetrachord",
    "7♯5": "augmented seventh chord",
}
"""music21's names of the kinds of chord. It names 7♭5 in four ways by its spelling: see FIGURES."""
FIGURES = {
    "": "", "m": "m", "dim": "dim", "aug": "aug", "maj7": "M7", "7": "7", "m7": "m7",
    "m(maj7)": "mM7", "m7♭5": "m7b5", "dim7": "dim7", "maj7♯5": "+M7", "7♯5": "7#5", "7♭5": "7b5",
}  # fmt: skip
"""music21's chord symbols."""
LETTERS = ("C", "D-", "D", "E-", "E", "F", "F#", "G", "A-", "A", "B-", "B")

_DRAW = random.Random(20)
SETS = [frozenset({0, *_DRAW.sample(range(1, 12), _DRAW.randint(4, 8))}) for _ in range(100)]


def name_of(tones: tuple[int, ...]) -> str:
    """music21's name among NAMES; "" for none."""
    return _name_of_shape(min(tuple(sorted((t - base) % 12 for t in tones)) for base in tones))


@cache
def _name_of_shape(shape: tuple[int, ...]) -> str:
    # music21 spells pitches by itself, and names some chords by the spelling (B7 with E♭ is a
    # German sixth): each tone as C in turn brings the plain spelling too.
    turned = ([(tone - base) % 12 for tone in shape] for base in shape)
    names = [str(chord.Chord(tones).commonName) for tones in turned]
    plain = [name.removeprefix("enharmonic equivalent to ") for name in names]
    return next((name for name in plain if name in NAMES.values()), "")


@pytest.mark.parametrize("tones", SETS, ids=lambda tones: "-".join(map(str, sorted(tones))))
def test_the_chords_in_random_tones_are_those_that_music21_names(tones: frozenset[int]) -> None:
    for size, found in ((3, list(triads(tones))), (4, list(sevenths(tones)))):
        ours = {(one.tones, NAMES[one.sign]) for one in found if one.sign in NAMES}
        named = {
            (frozenset(some), name_of(some))
            for some in combinations(sorted(tones), size)
            if name_of(some)
        }
        assert ours == named


def test_each_symbol_has_the_tones_of_the_trades_symbol() -> None:
    for one in (*triads(range(12)), *sevenths(range(12))):
        symbol = harmony.ChordSymbol(LETTERS[one.root] + FIGURES[one.sign])
        assert {pitch.pitchClass for pitch in symbol.pitches} == one.tones, one


def test_all_twelve_tones_have_each_kind_on_each_tone() -> None:
    assert len(list(triads(range(12)))) == 12 * 4
    assert len(list(sevenths(range(12)))) == 12 * 9
    assert not list(triads([0, 5, 7]))


def on(root: str, sign: str) -> Chord:
    return next(
        one
        for one in (*triads(range(12)), *sevenths(range(12)))
        if (one.root, one.sign) == (SEMITONE[root], sign)
    )


@pytest.mark.parametrize(
    ("root", "sign", "drone", "pulls"),
    # Worked out by ear of the trade: over C G, Am is C6, Em Cmaj7 and E♭ Cm7, which stay on C; F, G
    # and Dm go their own way. Over C F the triads m d S and d S g are F minor and A♭.
    [
        ("S", "", "P", False),
        ("D", "m", "P", False),
        ("D", "m7", "P", False),
        ("G", "m", "P", False),
        ("g", "", "P", False),
        ("m", "", "P", True),
        ("m", "m", "P", True),
        ("P", "", "P", True),
        ("P", "7", "P", True),
        ("R", "m", "P", True),
        ("R", "7", "P", True),
        ("m", "m", "m", True),
        ("d", "", "m", True),
        ("N", "dim", "P", False),
        ("m", "aug", "P", False),
    ],
)
def test_what_pulls_sa_away_over_the_drone(root: str, sign: str, drone: str, pulls: bool) -> None:
    assert on(root, sign).pulls(SEMITONE[drone]) is pulls
