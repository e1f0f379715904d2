"""A mode by itself: what the drone has beside Sa."""

from __future__ import annotations

import pytest

from cyclechart.theory.mode import Mode


@pytest.mark.parametrize(
    ("tones", "second"),
    [
        ((0, 2, 4, 5, 7, 9, 11, 12), 7),
        ((0, 3, 5, 8, 10, 12), 5),
        ((0, 1, 4, 6, 9, 11, 12), 11),
        ((0, 1, 4, 6, 10, 12), 10),
        ((0, 2, 4, 6, 9, 12), 0),
    ],
    ids=["Pa", "no Pa: Ma", "nor Ma: Ni", "komal Ni", "none of them"],
)
def test_the_drones_second_tone_is_pa_or_else_ma_or_ni(tones: tuple[int, ...], second: int) -> None:
    # Common practice.
    mode = Mode(name="a mode", ascent=tones, descent=tones[::-1])
    assert mode.drone_second == second
