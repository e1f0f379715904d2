"""Loudness, block after block: against an independent meter and the standards' own signals.

Outside: pyloudnorm (ITU-R BS.1770-4 by another hand; its "DeMan" filters are meant for any rate),
the check that ITU-R BS.1770-4 prints, and the simple cases of EBU Tech 3341 (from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pyloudnorm
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from cyclechart.sound.loudness import STEP, Meter
from cyclechart.sound.rate import RATE

Signal = NDArray[np.float32]

FEW = settings(max_examples=30)
SEGMENTS = st.lists(
    st.tuples(
        st.sampled_from(["noise", "sine", "left", "silence"]), st.floats(-80, 0), st.integers(1, 9)
    ),
    min_size=1,
    max_size=8,
)
"""What sounds, how loud (dBFS) and for how many tenths of a second."""
CUTS = st.lists(st.sampled_from([0, 300, 1000, 4409, 4410, 20_001]), min_size=1, max_size=6)


def signal(segments: list[tuple[str, float, int]], seed: int) -> Signal:
    dice = np.random.default_rng(seed)
    parts = []
    for kind, level, tenths in segments:
        frames = tenths * STEP
        if kind == "noise":
            part = dice.standard_normal((frames, 2)) / 3
        elif kind == "silence":
            part = np.zeros((frames, 2))
        else:
            wave = np.sin(2 * np.pi * dice.uniform(30, 15_000) * np.arange(frames) / RATE)
            part = np.stack([wave, np.zeros(frames) if kind == "left" else wave], axis=1)
        parts.append(part * 10 ** (level / 20))
    return np.concatenate(parts).astype(np.float32)


def measured(sound: Signal, cuts: list[int] | None = None) -> float:
    """In blocks of these sizes, one after the other, over and over."""
    meter = Meter()
    at = number = 0
    while at < len(sound):
        size = len(sound) if not cuts or not any(cuts) else cuts[number % len(cuts)]
        meter.add(sound[at : at + size])
        at, number = at + size, number + 1
    return meter.integrated()


def sines(*parts: tuple[float, float]) -> Signal:
    """Stereo sines of 1 kHz: (dBFS, seconds) each, one after the other."""
    level = np.concatenate([np.full(round(s * RATE), 10 ** (db / 20)) for db, s in parts])
    wave = level * np.sin(2 * np.pi * 1000 * np.arange(len(level)) / RATE)
    return np.stack([wave, wave], axis=1).astype(np.float32)


@FEW
@given(SEGMENTS, st.integers(0, 1 << 20), CUTS)
def test_it_is_what_another_meter_says(
    segments: list[tuple[str, float, int]], seed: int, cuts: list[int]
) -> None:
    sound = signal(segments, seed)
    if len(sound) < 4 * STEP:
        assert measured(sound, cuts) == -math.inf
        return
    other = pyloudnorm.Meter(RATE, filter_class="DeMan").integrated_loudness(sound.astype(float))
    ours = measured(sound, cuts)
    # The other's blocks begin up to a frame beside ours.
    assert ours == other or ours == pytest.approx(other, abs=0.02)


@FEW
@given(SEGMENTS, st.integers(0, 1 << 20), CUTS)
def test_how_it_is_cut_makes_no_difference(
    segments: list[tuple[str, float, int]], seed: int, cuts: list[int]
) -> None:
    sound = signal(segments, seed)
    whole = measured(sound)
    assert measured(sound, cuts) == pytest.approx(whole, abs=1e-4)


def test_silence_in_one_short_block_does_not_stop_the_filters() -> None:
    # Frames of zero between others: a square wave of 45 Hz with gaps, block for block.
    sound = np.zeros((RATE, 2), np.float32)
    sound[np.arange(RATE) % 980 < 490] = 0.5
    assert measured(sound, [490, 0]) == pytest.approx(measured(sound), abs=1e-6)
    assert measured(sound[:20_000], [1]) == pytest.approx(measured(sound[:20_000]), abs=1e-6)


def test_a_full_scale_sine_in_one_channel_reads_as_the_standard_says() -> None:
    # ITU-R BS.1770-4: 997 Hz, 0 dBFS, one front channel: -3.01 LKFS.
    wave = np.sin(2 * np.pi * 997 * np.arange(10 * RATE) / RATE)
    for side in (0, 1):
        sound = np.zeros((len(wave), 2), np.float32)
        sound[:, side] = wave
        assert measured(sound) == pytest.approx(-3.01, abs=0.005)


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        ([(-23.0, 20.0)], -23.0),
        ([(-33.0, 20.0)], -33.0),
        ([(-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0)], -23.0),
        ([(-72.0, 10.0), (-36.0, 10.0), (-23.0, 60.0), (-36.0, 10.0), (-72.0, 10.0)], -23.0),
        ([(-26.0, 20.0), (-20.0, 20.1), (-26.0, 20.0)], -23.0),
    ],
    ids=["1", "2", "3", "4", "5"],
)
def test_the_cases_of_ebu_tech_3341(parts: list[tuple[float, float]], expected: float) -> None:
    # Cases 1 to 5 of its table, each within 0.1 LU (from memory).
    assert measured(sines(*parts), [50_000]) == pytest.approx(expected, abs=0.1)


@FEW
@given(st.floats(-30, 20))
def test_louder_by_so_many_decibels_reads_so_many_more(by: float) -> None:
    sound = signal([("noise", -20.0, 9), ("sine", -25.0, 9)], 5)
    louder = (sound * 10 ** (by / 20)).astype(np.float32)
    assert measured(louder) - measured(sound) == pytest.approx(by, abs=1e-3)


@pytest.mark.parametrize("frames", [0, 1, 4 * STEP - 1])
def test_less_than_one_gating_block_has_no_loudness(frames: int) -> None:
    assert measured(np.ones((frames, 2), np.float32)) == -math.inf
    assert Meter().integrated() == -math.inf


def test_silence_and_what_is_below_the_gate_have_no_loudness() -> None:
    assert measured(np.zeros((RATE, 2), np.float32), [1000]) == -math.inf
    assert measured(sines((-75.0, 2.0))) == -math.inf


def test_a_last_block_that_is_not_whole_is_left_out() -> None:
    # ITU-R BS.1770-4: an incomplete gating block at the end is not used.
    sound = sines((-20.0, 2.0), (0.0, 0.09))
    assert measured(sound) == pytest.approx(measured(sound[: 2 * RATE]), abs=1e-9)
