"""The room: against one convolution of all of it, whatever the blocks.

Outside: scipy.signal.fftconvolve; reverberation time by Schroeder's backward integral (ISO 3382-1).
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import fftconvolve

from cyclechart.sound.rate import RATE
from cyclechart.sound.room import BLOCK, DECAY, FIRST, SECONDS, Room, response

FEW = settings(max_examples=20)
CUTS = st.lists(st.sampled_from([0, 1, 7, 441, 5000, BLOCK - 1, BLOCK, BLOCK + 1]), max_size=6)


@FEW
@given(st.integers(0, 1 << 20), CUTS)
def test_it_is_one_convolution_whatever_the_blocks(seed: int, cuts: list[int]) -> None:
    dice = np.random.default_rng(seed)
    sizes = [*cuts, int(dice.integers(1, 30_000))]
    sent = dice.standard_normal(sum(sizes)).astype(np.float32) * 0.3
    # Stretches of nothing in between, for which it takes a short cut.
    for at in dice.integers(0, len(sent), 4):
        sent[at : at + 3000] = 0
    room = Room()
    heard = np.concatenate(
        [room.reverberate(part) for part in np.split(sent, np.cumsum(sizes)[:-1])], axis=0
    )
    assert heard.dtype == np.float32
    assert heard.shape == (len(sent), 2)
    expected = fftconvolve(sent[:, None].astype(float), response(), axes=0)[: len(sent)]
    # float32: 24 bits, over some hundred thousand sums of half-random signs.
    assert np.abs(heard - expected).max() < 1e-5


def test_it_rings_out_and_is_then_silent() -> None:
    room = Room()
    click = np.zeros(100, np.float32)
    click[0] = 1
    assert room.reverberate(click).any()
    rings = round(SECONDS * RATE)
    assert np.abs(room.reverberate(np.zeros(rings, np.float32))).max() > 0.1
    assert np.abs(room.reverberate(np.zeros(BLOCK, np.float32))).max() < 1e-6
    room.reverberate(np.zeros(4 * BLOCK, np.float32))
    assert not room.reverberate(np.zeros(100, np.float32)).any()


def test_nothing_in_nothing_out() -> None:
    assert Room().reverberate(np.zeros(0, np.float32)).shape == (0, 2)


def test_two_rooms_answer_alike() -> None:
    sent = np.random.default_rng(2).standard_normal(9000).astype(np.float32)
    assert np.array_equal(Room().reverberate(sent), Room().reverberate(sent))


def test_each_side_has_an_energy_of_one_and_no_rumble() -> None:
    made = response()
    assert (made**2).sum(axis=0) == pytest.approx([1, 1])
    spectrum = np.abs(np.fft.rfft(made, axis=0))
    # 12 dB below the middle of its spectrum at 0 Hz.
    assert spectrum[0].max() < 0.25 * np.median(spectrum[10:2000])


def test_nothing_is_heard_before_the_first_reflection() -> None:
    before = response()[: round(FIRST[0][0] * RATE) - 1]
    assert np.abs(before).max() < 0.01 * np.abs(response()).max()


def test_it_dies_as_fast_as_it_says() -> None:
    # ISO 3382-1: the slope of the backward integral from -5 to -25 dB, here of its diffuse tail.
    tail = response()[round(0.04 * RATE) :]
    left = np.cumsum((tail**2)[::-1], axis=0)[::-1]
    for side in (0, 1):
        level = 10 * np.log10(left[:, side] / left[0, side])
        inside = np.flatnonzero((level <= -5) & (level >= -25))
        slope = np.polyfit(inside / RATE, level[inside], 1)[0]
        # Two layers, the brighter of which dies in 0.14 s.
        assert DECAY * 0.5 < -60 / slope < DECAY * 1.15
