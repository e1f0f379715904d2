"""The tick grid of a MIDI file: every onset of a piece on a tick of its own, where there is one."""

from __future__ import annotations

import io
import math
from fractions import Fraction as F

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.theory.ticks import COARSEST, FINEST, grid_for, largest_error, to_tick

denominators = st.lists(st.integers(1, 1200), max_size=12)


def test_the_finest_grid_is_the_standards() -> None:
    # Standard MIDI Files 1.0: fifteen bits for the ticks per quarter note. Outside: mido writes a
    # file of 32767 and cannot write one of 32768.
    mido.MidiFile(ticks_per_beat=FINEST).save(file=io.BytesIO())
    with pytest.raises(Exception, match="32767"):
        mido.MidiFile(ticks_per_beat=FINEST + 1).save(file=io.BytesIO())


@given(denominators)
def test_a_grid_is_fine_enough_and_can_be_written(asked: list[int]) -> None:
    grid, _ = grid_for(asked)
    assert COARSEST <= grid <= FINEST


@given(denominators)
def test_every_denominator_is_held_exactly_or_named(asked: list[int]) -> None:
    grid, lost = grid_for(asked)
    assert {number for number in asked if grid % number} == set(lost)


@given(denominators)
def test_no_smaller_grid_would_do(asked: list[int]) -> None:
    grid, lost = grid_for(asked)
    common = math.lcm(*asked)
    if common <= FINEST:
        assert lost == []
        assert not [ticks for ticks in range(COARSEST, grid) if ticks % common == 0]
    else:
        assert lost
        assert grid > FINEST // 2  # as fine as can be, so that what is lost is lost by little


@pytest.mark.parametrize("parts", range(1, 17))
@pytest.mark.parametrize("speed", [F(1), F(3, 2), F(5, 4), F(7, 4), F(2), F(3), F(4)], ids=str)
def test_a_cell_of_up_to_sixteen_at_any_of_the_trades_speeds_is_exact(parts: int, speed: F) -> None:
    # Speeds: adi 3/2, kuadi 5/4, biadi 7/4, dugun, tigun, chaugun (Sangeet Visharad pp. 177-180).
    element = 1 / speed / parts
    grid, lost = grid_for([element.denominator])
    assert lost == []
    assert (element * grid).denominator == 1


@pytest.mark.parametrize(
    ("asked", "grid"),
    [
        ([], 480),
        ([1, 2, 3, 4, 6, 8], 480),
        ([7], 483),  # 480 and 960 do not divide by 7
        ([9], 486),
        # The five southern gatis 3, 4, 5, 7, 9 together (a Carnatic tala chart): 1260.
        ([3, 4, 5, 7, 9], 1260),
        ([1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 14, 15, 16], 5040),
    ],
)
def test_grids_worked_by_hand(asked: list[int], grid: int) -> None:
    assert grid_for(asked) == (grid, [])


def test_what_cannot_be_held_together_is_named() -> None:
    # 11 · 13 · 16 = 2288 ticks hold 11, 13 and 16; with 15 it would be 34320, past the standard.
    grid, lost = grid_for([11, 13, 16, 15])
    assert lost == [16]  # the coarser ones are held: 11 · 13 · 15 = 2145
    assert grid % 2145 == 0


@given(st.fractions(0, 1000, max_denominator=1000), st.integers(COARSEST, FINEST))
def test_a_time_goes_to_its_nearest_tick(time: F, grid: int) -> None:
    off = abs(F(to_tick(time, grid), grid) - time)
    assert off <= F(1, 2 * grid)
    if grid % time.denominator == 0:
        assert off == 0


def test_halfway_goes_up() -> None:
    assert to_tick(F(1, 960), 480) == 1
    assert to_tick(F(3, 960), 480) == 2
    assert to_tick(F(1, 961), 480) == 0


@given(st.lists(st.fractions(0, 100, max_denominator=64), max_size=8))
def test_the_largest_error_is_the_worst_of_all(times: list[F]) -> None:
    worst = largest_error(times, 480)
    errors = [abs(F(round(time * 480), 480) - time) for time in times]
    assert worst == max(errors, default=0)
