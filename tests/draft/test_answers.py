"""Answers to the questions about a new piece."""

from __future__ import annotations

from fractions import Fraction

import pytest

from cyclechart.catalog.library import Library
from cyclechart.draft.answers import (
    NoAnswer,
    band_in,
    cycle_in,
    file_name_of,
    mode_in,
    tempo_in,
    title_in,
    tonic_in,
)

LIBRARY = Library.beside(None)


def test_names_are_found_by_their_sound_and_written_as_the_catalogue_has_them() -> None:
    name, mode = mode_in(LIBRARY, "Raag Bheempalasi")
    assert (name, mode.name) == ("bhimpalasi", "Bhimpalasi")
    name, cycle = cycle_in(LIBRARY, "Teen Taal")
    assert (name, cycle.name, cycle.beats) == ("tintal", "Tintal", 16)


def test_plain_answers() -> None:
    assert title_in("  Low  Tide\x07 ") == "Low Tide"
    assert tonic_in("Eb").semitone == 3
    assert tempo_in("92 1/2") == Fraction(185, 2)
    assert len(band_in(LIBRARY, ["flute", "tabla"]).members) == 2


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Low Tide", "low-tide"),
        ("The Keeper's", "the-keepers"),
        ("../../x", "x"),
        ("नदी", "नदी"),
        ("?!", "first-piece"),
        ("a" * 99, "a" * 60),
    ],
)
def test_the_file_of_a_title_stays_in_its_folder(title: str, name: str) -> None:
    assert file_name_of(title) == name


@pytest.mark.parametrize(
    ("ask", "said"),
    [
        (
            lambda: mode_in(LIBRARY, "bhimpalassy x"),
            "there is no mode 'bhimpalassy x'; did you mean",
        ),
        (lambda: cycle_in(LIBRARY, "4/4"), "4/4"),
        (lambda: tonic_in("H"), "'H' is not a letter name"),
        (lambda: tempo_in("fast"), "fast"),
        (lambda: tempo_in("2000"), "a tempo is 4 to 1000 beats a minute, not 2000"),
        (lambda: title_in(" \x00 "), "a title needs a letter"),
        (lambda: band_in(LIBRARY, ["sax"]), "did you mean"),
        (lambda: band_in(LIBRARY, ["tabla"]), "nobody of these plays melodies"),
        (lambda: band_in(LIBRARY, []), "not 0"),
    ],
)
def test_what_is_no_answer_says_why(ask: object, said: str) -> None:
    assert callable(ask)
    with pytest.raises(NoAnswer) as refused:
        ask()
    assert said in str(refused.value)
