"""Slow change and noise of the voices, between a steady table and sampled instruments.

The limits are the figures of sampled instruments in two General MIDI sound fonts and those of the
voices before they changed: support/voice_figures.py has them, tests/bench/voices.py prints all.
"""

from __future__ import annotations

import numpy as np
import pytest
from support.voice_figures import (
    HELD,
    SAMPLED_HNR,
    SAMPLED_MOVEMENT,
    STATIC_HNR,
    STATIC_MOVEMENT,
    USUAL,
    measures,
)

from cyclechart.sound.drift import MIXTURES, courses
from cyclechart.sound.rate import RATE
from cyclechart.sound.voice_tables import voice_names
from cyclechart.sound.voices import TAKES, tone


@pytest.mark.parametrize("name", sorted(voice_names()))
def test_voice_lies_between_a_table_and_a_sample(name: str) -> None:
    found = measures(name, HELD.get(name, USUAL))
    least = SAMPLED_HNR.get(name, min(SAMPLED_HNR.values()))
    assert least < found.hnr < STATIC_HNR.get(name, max(STATIC_HNR.values()))
    assert 5 * STATIC_MOVEMENT < found.movement < SAMPLED_MOVEMENT[1]
    assert abs(found.cents) < 0.05


@pytest.mark.parametrize("velocity", [40, 120])
def test_soft_and_loud_notes_move_too(velocity: int) -> None:
    found = measures("reed", 440.0, velocity)
    assert 0.2 < found.movement < SAMPLED_MOVEMENT[1] and found.hnr < STATIC_HNR["reed"] - 5
    assert abs(found.cents) < 0.05


def test_courses_are_bounded_smooth_and_of_one_size() -> None:
    times = np.arange(0, 600, 0.01)
    found = courses(5, 6, times, 2.0)
    assert found == pytest.approx(courses(5, 6, times, 2.0), abs=0)
    assert np.abs(found).max() < 2.46
    assert np.sqrt(np.mean(found**2, axis=1)) == pytest.approx([1] * 6, abs=0.05)
    assert np.abs(found.mean(axis=1)).max() < 0.02
    assert np.abs(np.diff(found)).max() < 2.46 * 2 * np.pi * 2.0 * 1.6 * 0.01
    # Independent of each other, and of those of another note.
    together = np.corrcoef(np.concatenate([found, courses(6, 6, times, 2.0)]))
    assert np.abs(together - np.eye(12)).max() < 0.3


def test_partials_go_ways_of_their_own() -> None:
    first = MIXTURES[:16]
    assert np.sum(first**2, axis=1) == pytest.approx(np.ones(16))
    alike = first @ first.T - np.eye(16)
    assert alike.max() < 0.999


@pytest.mark.parametrize("name", ["flute", "sitar"])
def test_takes_differ_and_come_again(name: str) -> None:
    takes = [tone(name, 330.0, RATE, 86, take=take) for take in range(TAKES)]
    assert len({wave.tobytes() for wave in takes}) == TAKES
    assert tone(name, 330.0, RATE, 86, take=2).tobytes() == takes[2].tobytes()
