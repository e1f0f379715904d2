"""Small values that everything rests on: numbers shown, sizes of tones, spelling, the tick grid."""

from __future__ import annotations

import math
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.theory.cycle import KINDS, LIMBS, Cycle
from cyclechart.theory.exact import parse_exact, show_beats, show_cycles
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import (
    TONICS,
    Tonic,
    fifths_of,
    key_alter,
    nearest_signature,
    needs_respelling,
    spell,
    written_for,
    written_tonic,
)
from cyclechart.theory.ticks import FINEST, grid_for, largest_error, to_tick
from cyclechart.theory.tones import dotted, octave_dots, show_pitch
from cyclechart.theory.tuning import EQUAL, JUST_TUNING, own_tuning

MAJOR = (0, 2, 4, 5, 7, 9, 11)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("1.5 1/2", "mixes a decimal and a fraction"),
        ("1/0", "divides by zero"),
        ("1 1/0", "divides by zero"),
        ("fast", "not a number"),
        ("-", "not a number"),
        ("1234567890", "more than 9 digits"),
        ("1/1234567890", "more than 9 digits"),
    ],
)
def test_a_slip_in_a_number_is_told_for_what_it_is(text: str, what: str) -> None:
    with pytest.raises(ValueError, match=what):
        parse_exact(text)


def test_nine_digits_are_a_number_and_forty_signs_are_said_back_whole() -> None:
    assert parse_exact("123456789") == 123456789
    with pytest.raises(ValueError, match="'" + "x" * 40 + "' is not a number"):
        parse_exact("x" * 40)
    with pytest.raises(ValueError, match="'" + "x" * 39 + "…' is not a number"):
        parse_exact("x" * 41)


def test_counts_in_words() -> None:
    assert [show_cycles(count) for count in (1, 2, 16)] == ["1 cycle", "2 cycles", "16 cycles"]
    assert [show_beats(F(beats)) for beats in (-1, -2)] == ["-1 beat", "-2 beats"]
    assert show_beats(F(-1, 2)) == "-1/2 beat"


def test_the_five_kinds_and_the_limbs() -> None:
    # A Carnatic tala chart (C. Shotham).
    assert KINDS == {"tisra": 3, "chaturasra": 4, "khanda": 5, "misra": 7, "sankirna": 9}
    assert LIMBS == {"I": "laghu", "O": "drutam", "U": "anudrutam"}


@given(st.lists(st.integers(1, 40).map(lambda part: F(part, 8)), min_size=1, max_size=5))
def test_a_walk_has_every_beat_of_every_section_once(sections: list[F]) -> None:
    cycle = Cycle(
        name="c", beats=sum(sections, F(0)), sections=tuple(sections), stressed=(), gati=3
    )
    expected, begin = [], F(0)
    for number, size in enumerate(sections):
        whole = int(size)
        expected += [(number, begin + beat, F(1)) for beat in range(whole)]
        if size > whole:
            expected.append((number, begin + whole, size - whole))
        begin += size
    assert list(cycle.walk()) == expected
    assert cycle.pulses == 3 * begin


# Tuning


def test_an_interval_is_counted_in_semitones_up_and_down() -> None:
    assert EQUAL.interval(0, 7) == 7
    assert EQUAL.interval(12, 0) == -12
    assert EQUAL.interval(-1, 13) == 14
    assert JUST_TUNING.interval(0, 7) == pytest.approx(7.01955, abs=1e-5)
    assert JUST_TUNING.interval(7, 12) == pytest.approx(12 - 7.01955, abs=1e-5)
    assert EQUAL.name == "equal"
    assert JUST_TUNING.name == "just"
    assert own_tuning({}).name == "own"


def test_a_tone_has_its_ratio_where_the_mode_tunes_it_just() -> None:
    just = Mode(name="m", ascent=(0, 12), descent=(12, 0))
    assert just.sized(7) == ("3/2", pytest.approx(701.955, abs=1e-3))
    own = Mode(
        name="m", ascent=(0, 12), descent=(12, 0), tuning=own_tuning({9: F(27, 16), 2: 200.0})
    )
    assert own.sized(9) == ("", pytest.approx(905.865, abs=1e-3))
    assert own.sized(2) == ("", 200.0)
    assert own.sized(7) == ("3/2", pytest.approx(701.955, abs=1e-3))


def test_the_tones_of_a_mode_are_those_of_its_paths_and_phrases() -> None:
    mode = Mode(name="m", ascent=(-1, 4, 12), descent=(12, 5, 0), phrases=((14, 0), (3,)))
    assert mode.up == {11, 4, 0}
    assert mode.down == {0, 5}
    assert mode.tones == {0, 2, 3, 4, 5, 11}
    # The drone's second tone may stand in one of the two paths alone, and not in a phrase.
    assert mode.drone_second == 5
    assert Mode(name="m", ascent=(0, 12), descent=(12, 0), phrases=((7,),)).drone_second == 0


# Spelling


def test_the_tonics_stand_on_the_twelve_keys_from_c_up() -> None:
    assert [tonic.semitone for tonic in TONICS] == list(range(12))
    assert " ".join(map(str, TONICS)) == "C D♭ D E♭ E F F♯ G A♭ A B♭ B"


@pytest.mark.parametrize(
    ("tonic", "transposes", "written"),
    [
        # Any orchestration handbook: alto saxophone in E♭, clarinet in B♭, horn in F.
        ("D", -9, "B"),
        ("D", -2, "E"),
        ("D", -7, "A"),
        ("D", 0, "D"),
        ("C", -14, "D"),
        ("B♭", 12, "B♭"),
    ],
)
def test_sa_as_a_transposing_instrument_reads_it(tonic: str, transposes: int, written: str) -> None:
    here = next(one for one in TONICS if str(one) == tonic)
    assert str(written_for(here, transposes)) == written


def test_the_line_of_fifths() -> None:
    line = [
        *("F♭", "C♭", "G♭", "D♭", "A♭", "E♭", "B♭"),
        *("F", "C", "G", "D", "A", "E", "B"),
        *("F♯", "C♯", "G♯", "D♯", "A♯", "E♯", "B♯"),
    ]
    alters = {"♭": -1, "♯": 1}
    tonics = [Tonic(name[0], alters[name[1]] if name[1:] else 0) for name in line]
    assert [fifths_of(tonic) for tonic in tonics] == list(range(-8, 13))
    assert [str(tonic) for tonic in tonics] == line


@given(
    st.builds(Tonic, st.sampled_from("CDEFGAB"), st.sampled_from([-1, 0, 1])),
    st.integers(-7, 7),
    st.sampled_from([(0, 2, 4, 7, 9), (0, 7), (0, 1, 3, 6, 7, 8, 11), (0, 1, 4, 11)]),
)
def test_of_signatures_as_good_the_nearest_to_the_one_asked_for_is_taken(
    tonic: Tonic, like: int, tones: tuple[int, ...]
) -> None:
    notes = {(spell(tonic, tone).step, spell(tonic, tone).alter) for tone in tones}

    def left(fifths: int) -> int:
        return sum(key_alter(fifths, step) != alter for step, alter in notes)

    best = [fifths for fifths in range(-7, 8) if left(fifths) == min(map(left, range(-7, 8)))]
    near = min(abs(fifths - like) for fifths in best)
    best = [fifths for fifths in best if abs(fifths - like) == near]
    few = min(map(abs, best))
    best = [fifths for fifths in best if abs(fifths) == few]
    chosen = nearest_signature(tonic, tones, like)
    assert chosen == (max(best) if tonic.alter >= 0 else min(best))


def test_a_tone_that_wants_a_double_accidental_is_told_in_any_octave() -> None:
    sharp = Tonic("G", 1)
    assert needs_respelling(sharp, [11])
    assert needs_respelling(sharp, [0, 2, 23])
    assert needs_respelling(sharp, [-1])
    assert not needs_respelling(sharp, [0, 2, 3, 5, 7])
    assert not needs_respelling(Tonic("D"), range(12))


def test_a_passage_is_written_as_the_piece_is_where_that_reads() -> None:
    assert written_tonic(Tonic("G", 1), MAJOR, MAJOR) == Tonic("A", -1)
    assert written_tonic(Tonic("F", 1), (0, 7), (0, 7)) == Tonic("F", 1)
    assert written_tonic(Tonic("C", -1), (0, 7), MAJOR) == Tonic("B")


# Octave marks


@pytest.mark.parametrize("octave", range(-4, 5))
def test_marks_of_an_octave_are_as_many_as_it_is_away(octave: int) -> None:
    pitch = 12 * octave + 7
    sign = "'" if octave > 0 else ","
    assert show_pitch(pitch) == "P" + sign * abs(octave)
    above, two = ("\u0307", "\u0308") if octave > 0 else ("\u0323", "\u0324")
    dots = octave_dots(pitch)
    assert dots.count(two) * 2 + dots.count(above) == abs(octave)
    assert len(dots) == dots.count(two) + dots.count(above)
    assert dots.count(above) == abs(octave) % 2
    assert dotted(pitch) == f"P{dots}"


# Ticks


@given(st.lists(st.integers(1, 400), max_size=8))
def test_a_grid_is_the_smallest_that_holds_all_or_the_finest_that_holds_the_coarse(
    asked: list[int],
) -> None:
    common, lost = 1, []
    for number in sorted(set(asked)):
        if math.lcm(common, number) <= FINEST:
            common = math.lcm(common, number)
        else:
            lost.append(number)
    multiples = range(common, FINEST + 1, common)
    grid = multiples[-1] if lost else next(ticks for ticks in multiples if ticks >= 480)
    assert grid_for(asked) == (grid, lost)


@given(st.fractions(-20, 20, max_denominator=960), st.integers(1, 1000))
def test_a_tick_is_the_floor_of_what_lies_half_a_tick_on(time: F, ticks: int) -> None:
    assert to_tick(time, ticks) == math.floor(time * ticks + F(1, 2))


@given(st.lists(st.fractions(0, 9, max_denominator=97), max_size=5), st.integers(1, 50))
def test_the_worst_of_times_on_a_coarse_grid(times: list[F], ticks: int) -> None:
    off = [min(time * ticks % 1, -time * ticks % 1) / ticks for time in times]
    assert largest_error(times, ticks) == max(off, default=0)
    assert largest_error([], ticks) == 0
