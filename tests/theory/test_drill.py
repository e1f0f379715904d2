"""Practice patterns: the mode's own movement, whole cycles, a landing."""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from cyclechart.catalog.library import Library
from cyclechart.finding import Spot
from cyclechart.theory.drill import PATTERNS, drill
from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import show_path

LIBRARY = Library.beside(None)
NAMES = [name for shelf in LIBRARY.modes for name in shelf.names()]


def mode(name: str) -> Mode:
    made, _ = LIBRARY.mode(name, Spot("", 1, 1))
    assert made is not None
    return made


def said(name: str, pattern: str, beats: int = 8) -> tuple[str, str]:
    made = drill(mode(name), pattern, F(beats))
    assert made is not None
    rise, fall = ([show_path(group).replace(" ", "") for group in side]
                  for side in (made.rise, made.fall))  # fmt: skip
    return " ".join(rise), " ".join(fall)


# 12 23 34, 123 234 345 and 1234 2345 in the plain scale stand in every book of exercises (common
# practice).
@pytest.mark.parametrize(
    ("pattern", "rise", "fall"),
    [
        ("straight", "S R G m P D N", "S' N D P m G R"),
        ("twos", "SR RG Gm mP PD DN NS'", "S'N ND DP Pm mG GR RS"),
        ("threes", "SRG RGm GmP mPD PDN DNS'", "S'ND NDP DPm PmG mGR GRS"),
        ("skips", "SG Rm GP mD PN DS'", "S'D NP Dm PG mR GS"),
    ],
)
def test_the_plain_scale(pattern: str, rise: str, fall: str) -> None:
    assert said("bilawal-thaat", pattern) == (rise, fall)


def test_what_the_ascent_leaves_out_stays_out() -> None:
    # Bhimpalasi leaves out R and D rising (public raga pages).
    rise, fall = said("bhimpalasi", "threes")
    assert not {"R", "D"} & set(rise)
    assert {"R", "D"} <= set(fall)


@pytest.mark.parametrize("name", NAMES)
def test_every_drill_moves_as_the_mode_does_and_lands(name: str) -> None:
    for pattern in PATTERNS:
        for beats in (F(16), F(7), F(23, 2)):
            made = drill(mode(name), pattern, beats)
            if made is None:
                continue
            played = [p for group in (*made.rise, (12,), *made.fall, (0,)) for p in group]
            assert not list(judge_breath(mode(name), played))
            assert (len(made.rise) + made.held + len(made.fall)) % beats == 0
            assert made.held >= 1


def test_most_modes_have_most_patterns() -> None:
    made = [drill(mode(name), pattern, F(16)) for name in NAMES for pattern in PATTERNS]
    assert sum(one is not None for one in made) > 0.8 * len(made)


@pytest.mark.parametrize("beats", [F(27, 4), F(23, 2), F(7), F(33, 4)])
def test_a_cycle_in_parts_of_a_beat_has_the_patterns_of_any_other(beats: F) -> None:
    for name in ("yaman", "bhupali", "bageshri"):
        for pattern in PATTERNS:
            found = drill(mode(name), pattern, beats)
            assert (found is None) == (drill(mode(name), pattern, F(16)) is None), pattern
            if found is not None:
                assert (len(found.rise) + found.held + len(found.fall)) % beats == 0
