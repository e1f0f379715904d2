"""Tuning: ratios as published, and the bends that they ask of a keyboard's twelve equal steps."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from music21.scale import scala

from cyclechart.theory.tones import SARGAM, SEMITONE
from cyclechart.theory.tuning import EQUAL, JUST, JUST_TUNING, own_tuning, ratio_cents


def test_eleven_of_twelve_ratios_are_those_of_the_scale_archive() -> None:
    # Outside: the Scala archive's indian_12.scl ('North Indian Gamut'), as music21 ships it. It
    # takes D as 27/16; ours is 5/3, as in the 'Western' row of Sangeet Visharad p. 58.
    archive = scala.parse("indian_12.scl")
    assert archive is not None
    printed = [F(1), *(F(value.src) for value in archive.pitchValues)]
    assert printed.pop() == 2
    apart = {SARGAM[n]: printed[n] for n in range(12) if printed[n] != JUST[n]}
    assert apart == {"D": F(27, 16)}
    assert JUST[SEMITONE["D"]] == F(5, 3)
    cents = [0.0, *archive.getCentsAboveTonic()]
    for n in set(range(12)) - {SEMITONE["D"]}:
        assert JUST_TUNING.cents[n] == pytest.approx(cents[n])


def test_the_ratios_are_the_handbooks_frequencies_over_sa() -> None:
    # Sangeet Visharad (Hindi handbook) pp. 45 and 58, the 'Western' row, Sa = 240.
    hertz = [240, 256, 270, 288, 300, 320, F(675, 2), 360, 384, 400, 432, 450]
    assert [ratio * 240 for ratio in JUST] == hertz


# Ratios of the archive's indian_12.scl; cents and 14-bit bend steps (8192 to two semitones)
# computed from them apart from this code.
BENDS = [
    ("S", "1/1", 0.00, 0.00, 0),
    ("r", "16/15", 111.73, +11.73, +481),
    ("R", "9/8", 203.91, +3.91, +160),
    ("g", "6/5", 315.64, +15.64, +641),
    ("G", "5/4", 386.31, -13.69, -561),
    ("m", "4/3", 498.04, -1.96, -80),
    ("M", "45/32", 590.22, -9.78, -400),
    ("P", "3/2", 701.96, +1.96, +80),
    ("d", "8/5", 813.69, +13.69, +561),
    ("D", "5/3", 884.36, -15.64, -641),
    ("n", "9/5", 1017.60, +17.60, +721),
    ("N", "15/8", 1088.27, -11.73, -481),
]


@pytest.mark.parametrize(("tone", "ratio", "cents", "bend", "steps"), BENDS)
def test_each_tone_lies_where_the_table_says(
    tone: str, ratio: str, cents: float, bend: float, steps: int
) -> None:
    semitone = SEMITONE[tone]
    assert JUST[semitone] == F(ratio)
    assert JUST_TUNING.cents[semitone] == pytest.approx(cents, abs=0.005)
    assert JUST_TUNING.bend(semitone) == pytest.approx(bend, abs=0.005)
    assert round(8192 * JUST_TUNING.bend(semitone) / 200) == steps


@pytest.mark.parametrize("octave", [-24, -12, 12, 24])
def test_a_tone_bends_alike_in_every_octave(octave: int) -> None:
    for semitone in range(12):
        assert JUST_TUNING.bend(semitone + octave) == JUST_TUNING.bend(semitone)


def test_equal_steps_bend_nothing() -> None:
    assert all(EQUAL.bend(pitch) == 0 for pitch in range(-24, 25))


@pytest.mark.parametrize(
    ("ratio", "cents"),
    [
        # The usual intervals of tuning theory (any handbook): comma, limma, chroma, octave.
        ("81/80", 21.51),
        ("256/243", 90.22),
        ("25/24", 70.67),
        ("531441/524288", 23.46),
        ("2", 1200.0),
        ("1", 0.0),
    ],
)
def test_an_interval_is_so_many_cents(ratio: str, cents: float) -> None:
    assert ratio_cents(F(ratio)) == pytest.approx(cents, abs=0.005)


def test_a_piece_may_choose_its_own_dha_and_ni() -> None:
    # The other published values: 27/16 (indian_12.scl; Sangeet Visharad, the Manjari row), and
    # 16/9, which also stands in the archive's indian.scl.
    tuned = own_tuning({SEMITONE["D"]: F(27, 16), SEMITONE["n"]: 996.09})
    assert tuned.bend(SEMITONE["D"]) == pytest.approx(5.87, abs=0.005)
    assert round(8192 * tuned.bend(SEMITONE["D"]) / 200) == 240
    assert round(8192 * tuned.bend(SEMITONE["n"]) / 200) == -160
    for semitone in set(range(12)) - {SEMITONE["D"], SEMITONE["n"]}:
        assert tuned.cents[semitone] == JUST_TUNING.cents[semitone]


@pytest.mark.parametrize(("pitch", "cents"), [(12, 1200), (-12, -1200), (25, 2511.731285)])
def test_octaves_are_pure_in_any_tuning(pitch: int, cents: float) -> None:
    # 16/15, the just komal Re, is 111.731285 cents.
    assert JUST_TUNING.above_sa(pitch) == pytest.approx(cents, abs=1e-6)
