"""The tones that a mode leans on: how-it-judges.md, 'The mode's grammar' (weak-rest,
vadi-faint, phrases)."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.theory.leaning import even_share, phrases_used, resting_tones, share
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SEMITONE


def path(text: str) -> tuple[int, ...]:
    return tuple(
        SEMITONE[tone[0]] + 12 * tone.count("'") - 12 * tone.count(",") for tone in text.split()
    )


UP, DOWN = path("n, S g m P n S'"), path("S' n D P m g R S")
# Bhimpalasi: vadi m, samvadi S (common practice); n, S m is a phrase of it (public raga pages).
BHIMPALASI = Mode(
    name="Bhimpalasi", ascent=UP, descent=DOWN, vadi=5, samvadi=0, phrases=(path("n, S m"),)
)
MARWA = Mode(
    name="Marwa",
    ascent=path("N, r G M D N D S'"),
    descent=path("S' N D M G r S"),
    vadi=1,
    samvadi=9,
)


def test_where_no_rests_are_said_the_chief_tones_and_s_and_p_are() -> None:
    assert resting_tones(BHIMPALASI) == path("S m P")
    assert resting_tones(MARWA) == path("S r D")  # it has no P
    assert resting_tones(
        Mode(name="said", ascent=UP, descent=DOWN, vadi=5, rests=path("n g"))
    ) == path("S g n")
    # Nobody has said where a bare scale rests.
    assert resting_tones(Mode(name="a scale", ascent=UP, descent=DOWN)) == ()


def test_the_even_share_is_one_part_for_each_tone() -> None:
    assert even_share(BHIMPALASI) == Fraction(2, 7)
    assert even_share(MARWA) == Fraction(1, 3)
    assert even_share(Mode(name="one", ascent=UP, descent=DOWN, vadi=5)) == Fraction(1, 7)


def test_share_is_by_time() -> None:
    assert share(BHIMPALASI, {0: Fraction(1, 2), 5: Fraction(1), 7: Fraction(3)}) == Fraction(1, 3)
    assert share(BHIMPALASI, {7: Fraction(3)}) == 0
    assert share(BHIMPALASI, {}) is None


@pytest.mark.parametrize(
    ("breaths", "used"),
    [
        (["n, S m"], True),
        (["P n S' m' P'"], True),
        (["n, n, S S m m"], True),
        (["n S m"], False),
        (["n, S", "m"], False),
        (["n, S"], False),
        (["m S n,"], False),
        (["S R", "P, n, S m"], True),
    ],
)
def test_a_phrase_stands_whole_in_a_breath_in_any_octave(breaths: list[str], used: bool) -> None:
    assert bool(phrases_used(BHIMPALASI, [path(breath) for breath in breaths])) is used


_PITCHES = st.lists(st.integers(-12, 24), min_size=1, max_size=6)


@given(_PITCHES, _PITCHES, _PITCHES, st.integers(-2, 2))
def test_a_phrase_is_found_wherever_it_is_put(
    before: list[int], phrase: list[int], after: list[int], octave: int
) -> None:
    mode = Mode(name="drawn", ascent=UP, descent=DOWN, phrases=(tuple(phrase),))
    put = [pitch + 12 * octave for pitch in phrase]
    assert phrases_used(mode, [[*before, *put, *after]]) == (tuple(phrase),)
