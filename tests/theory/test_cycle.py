"""The rhythmic cycle: its signs, and where a position stands in it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.theory.cycle import KINDS, Cycle


def cycle(sections: list[F | int], stressed: list[int], waved: list[int]) -> Cycle:
    sizes = tuple(F(size) for size in sections)
    claps = tuple(F(beat) for beat in stressed)
    waves = tuple(F(beat) for beat in waved)
    return Cycle(name="a cycle", beats=sum(sizes, F(0)), sections=sizes, stressed=claps, open=waves)


TINTAL = cycle([4, 4, 4, 4], [1, 5, 13], [9])
RUPAK = cycle([3, 2, 2], [4, 6], [1])
ELEVEN_AND_A_HALF = cycle([4, 4, F(7, 2)], [1, 9], [5])


@pytest.mark.parametrize(
    ("made", "signs"),
    [
        # A public table of talas; CompMusic's taal examples: X 2 0 3.
        (TINTAL, "× 2 0 3"),
        # M. Clayton, Music Theory Online 26.1 (2020); D. Courtney's tala pages: sam is khali. That
        # the claps after it are 2 and 3 is common practice.
        (RUPAK, "0 2 3"),
        # D. Courtney's tala pages: X 0 2 0 3 4.
        (cycle([2] * 6, [1, 5, 9, 11], [3, 7]), "× 0 2 0 3 4"),
        # Two public lesson pages on sultal: X 0 2 3 0.
        (cycle([2] * 5, [1, 5, 7], [3, 9]), "× 0 2 3 0"),
        # A public lesson page on ada chautal: X 2 0 3 0 4 0.
        (cycle([2] * 7, [1, 3, 7, 11], [5, 9, 13]), "× 2 0 3 0 4 0"),
        # Onushilon encyclopaedia on rudra: X 2 0 3 4 5 0 6 7 8 0.
        (cycle([1] * 11, [1, 2, 4, 5, 6, 8, 9, 10], [3, 7, 11]), "× 2 0 3 4 5 0 6 7 8 0"),
    ],
    ids=["tintal", "rupak", "ektal", "sultal", "ada-chautal", "rudra"],
)
def test_each_section_carries_the_sign_that_books_print(made: Cycle, signs: str) -> None:
    assert [made.signs[start] for start in made.starts] == signs.split()


def test_sam_has_its_sign_even_where_nothing_is_clapped() -> None:
    assert cycle([4], [], []).signs == {F(0): "×"}


def test_sections_begin_where_the_ones_before_end() -> None:
    assert ELEVEN_AND_A_HALF.starts == (F(0), F(4), F(8))
    assert cycle([F(3, 2), F(1, 4), 2], [], []).starts == (F(0), F(3, 2), F(7, 4))


@pytest.mark.parametrize(
    ("made", "position", "place"),
    [
        (TINTAL, F(0), (0, 1)),
        (TINTAL, F(17), (1, 2)),
        (TINTAL, F(-1), (-1, 16)),
        (TINTAL, F(35, 2), (1, F(5, 2))),
        (ELEVEN_AND_A_HALF, F(12), (1, F(3, 2))),
        (ELEVEN_AND_A_HALF, F(23), (2, 1)),
        (ELEVEN_AND_A_HALF, F(-1, 2), (-1, 12)),
    ],
)
def test_a_position_is_a_cycle_and_a_beat_from_one(
    made: Cycle, position: F, place: tuple[int, F]
) -> None:
    assert made.place(position) == place


@pytest.mark.parametrize(
    ("made", "position", "first_only", "nearest"),
    [
        (TINTAL, F(5), False, F(4)),
        (TINTAL, F(7), False, F(8)),
        (TINTAL, F(6), False, F(4)),  # halfway: the earlier one
        (TINTAL, F(15), False, F(16)),
        (TINTAL, F(7), True, F(0)),
        (TINTAL, F(9), True, F(16)),
        (TINTAL, F(-1), False, F(0)),
        (ELEVEN_AND_A_HALF, F(10), False, F(23, 2)),
    ],
)
def test_a_stray_section_line_is_shown_the_nearest_section(
    made: Cycle, position: F, first_only: bool, nearest: F
) -> None:
    assert made.nearest_start(position, first_only) == nearest


# Limbs and gatis. A laghu is a clap and finger counts, a drutam a clap and a wave, an anudrutam a
# clap: a Carnatic tala chart (C. Shotham).


def test_the_hand_keeps_the_limbs() -> None:
    jhampa = replace(cycle([7, 1, 2], [1, 8, 9], []), limbs="IUO")
    kept = "clap 1 2 3 4 5 6 clap clap wave"
    assert list(jhampa.hand.values()) == kept.split()
    assert list(jhampa.hand) == [F(beat) for beat in range(10)]


def test_a_cycle_without_limbs_is_not_kept_so() -> None:
    assert TINTAL.hand == {}


@pytest.mark.parametrize(("kind", "pulses"), list(zip(KINDS, (24, 32, 40, 56, 72), strict=True)))
def test_pulses_of_eight_beats(kind: str, pulses: int) -> None:
    # A Carnatic tala chart (C. Shotham): Adi in gatis of 3, 4, 5, 7 and 9.
    assert cycle([4, 2, 2], [1, 5, 7], []).in_gati(kind).pulses == pulses


def test_a_gati_changes_the_beats_inside_and_nothing_of_the_frame() -> None:
    made = replace(TINTAL, strokes="dha - - -", aka=("Teental",)).in_gati("khanda")
    assert (made.name, made.gati, made.aka) == ("Khanda-gati a cycle", 5, ())
    assert (made.beats, made.signs, made.strokes) == (F(16), TINTAL.signs, "dha - - -")
    assert TINTAL.pulses == 0  # none is said
    spoken = replace(TINTAL, strokes="", spoken="ta ka di mi").in_gati("tisra")
    assert (spoken.strokes, spoken.gati) == ("", 3)


# A cycle's sections are whole or in halves, quarters or eighths of a beat (piece-language.md).
eighths = st.integers(1, 64).map(lambda eighth: F(eighth, 8))
positions = st.fractions(-200, 200, max_denominator=48)
cycles = st.lists(eighths, min_size=1, max_size=7).map(lambda sizes: cycle(list(sizes), [], []))


@given(cycles, positions)
def test_cycle_and_beat_lead_back_to_the_position(made: Cycle, position: F) -> None:
    number, beat = made.place(position)
    assert 1 <= beat < made.beats + 1
    assert number * made.beats + beat - 1 == position


@given(cycles, positions, st.booleans())
def test_no_start_is_nearer_than_the_nearest(made: Cycle, position: F, first_only: bool) -> None:
    here = position // made.beats
    every = [
        (here + turn) * made.beats + start
        for turn in (-1, 0, 1)
        for start in ([F(0)] if first_only else made.starts)
    ]
    nearest = made.nearest_start(position, first_only)
    assert nearest == min(every, key=lambda start: (abs(start - position), start))


def test_beats_are_counted_from_each_section_and_its_last_may_be_short() -> None:
    walked = list(cycle([2, F(3, 2), F(1, 4)], [], []).walk())
    assert walked == [
        (0, 0, 1), (0, 1, 1), (1, 2, 1), (1, 3, F(1, 2)), (2, F(7, 2), F(1, 4)),
    ]  # fmt: skip
