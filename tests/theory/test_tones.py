"""The twelve tones and the other names for them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21.interval import Interval
from music21.scale import MajorScale

from cyclechart.text.scripts import SARGAM_SCRIPT
from cyclechart.theory.tones import (
    DEGREES,
    SARGAM,
    SEMITONE,
    SOLFA16,
    dotted,
    show_path,
    show_pitch,
    tone,
)


def test_the_twelve_letters_stand_on_the_twelve_semitones() -> None:
    # Bhatkhande's letters as Indian handbooks print them, flats in lower case, raised Ma as M
    # (Sangeet Visharad, the chapter on the ten thaats; the upper and lower case are common
    # practice in typed sargam).
    assert SEMITONE == {
        "S": 0, "r": 1, "R": 2, "g": 3, "G": 4, "m": 5,
        "M": 6, "P": 7, "d": 8, "D": 9, "n": 10, "N": 11,
    }  # fmt: skip
    assert "".join(sorted(SEMITONE, key=lambda letter: SEMITONE[letter])) == SARGAM


@pytest.mark.parametrize(
    ("degree", "interval"),
    [
        ("1", "P1"), ("b2", "m2"), ("2", "M2"), ("b3", "m3"), ("3", "M3"), ("4", "P4"),
        ("#4", "A4"), ("5", "P5"), ("b6", "m6"), ("6", "M6"), ("b7", "m7"), ("7", "M7"),
    ],
)  # fmt: skip
def test_a_degree_is_as_wide_as_the_interval_of_its_name(degree: str, interval: str) -> None:
    # Outside: interval names and sizes of music21.
    assert DEGREES[degree] == Interval(interval).semitones
    assert len(DEGREES) == 12


@pytest.mark.parametrize(
    ("number", "swaras", "semitones"),
    [
        (8, "S R1 G2 M1 P D1 N2", [0, 1, 3, 5, 7, 8, 10]),
        (15, "S R1 G3 M1 P D1 N3", [0, 1, 4, 5, 7, 8, 11]),
        (22, "S R2 G2 M1 P D2 N2", [0, 2, 3, 5, 7, 9, 10]),
        (36, "S R3 G3 M1 P D3 N3", [0, 3, 4, 5, 7, 10, 11]),
        (37, "S R1 G1 M2 P D1 N1", [0, 1, 2, 6, 7, 8, 9]),
        (65, "S R2 G3 M2 P D2 N3", [0, 2, 4, 6, 7, 9, 11]),
    ],
)
def test_the_sixteen_southern_names_spell_the_melas(
    number: int, swaras: str, semitones: list[int]
) -> None:
    # The table of the 72 melas (the common southern table; swaras and semitones as printed).
    assert [SOLFA16[name] for name in swaras.split()] == semitones, f"mela {number}"


def test_mela_29_is_the_major_scale() -> None:
    # Outside: music21's MajorScale.
    major = [pitch.midi - 60 for pitch in MajorScale("c4").getPitches("c4", "b4")]
    assert [SOLFA16[name] for name in ("S", "R2", "G3", "M1", "P", "D2", "N3")] == major


def test_sixteen_names_share_twelve_keys() -> None:
    # Common practice: R2 = G1, R3 = G2, D2 = N1, D3 = N2.
    assert len(SOLFA16) == 16
    assert set(SOLFA16.values()) == set(range(12))
    for one, other in [("R2", "G1"), ("R3", "G2"), ("D2", "N1"), ("D3", "N2")]:
        assert SOLFA16[one] == SOLFA16[other]


@pytest.mark.parametrize(
    ("pitch", "text"),
    [(0, "S"), (11, "N"), (12, "S'"), (-1, "N,"), (25, "r''"), (-12, "S,"), (-13, "N,,")],
)
def test_the_octave_from_sa_up_has_no_mark(pitch: int, text: str) -> None:
    assert show_pitch(pitch) == text


def test_a_path_is_written_with_spaces() -> None:
    assert show_path((-1, 2, 4, 12)) == "N, R G S'"


@given(st.integers(-36, 47))
def test_a_pitch_that_is_shown_reads_as_the_same_pitch(pitch: int) -> None:
    assert SARGAM_SCRIPT.read(show_pitch(pitch)) == pitch


@given(st.integers(-60, 60))
def test_tones_repeat_at_the_octave(pitch: int) -> None:
    assert tone(pitch) == tone(pitch + 12) == SARGAM[pitch % 12]


@pytest.mark.parametrize(
    ("pitch", "text"),
    [
        (7, "P"),
        (11, "N"),
        (12, "S\N{COMBINING DOT ABOVE}"),
        (-1, "N\N{COMBINING DOT BELOW}"),
        (19, "P\N{COMBINING DOT ABOVE}"),
        (-5, "P\N{COMBINING DOT BELOW}"),
        (31, "P\N{COMBINING DIAERESIS}"),
        (-17, "P\N{COMBINING DIAERESIS BELOW}"),
    ],
)
def test_charts_mark_the_octave_with_dots(pitch: int, text: str) -> None:
    # Bhatkhande's signs: a dot above the upper octave, below the lower (Sangeet Visharad p. 140).
    assert dotted(pitch) == text
