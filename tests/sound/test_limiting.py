"""True peaks and the limiter: against another oversampling, and by arithmetic for a sine.

Outside: scipy's resample_poly at sixteen times with a longer filter than ours (ITU-R BS.1770-4,
annex 2, asks for four times at least); a sine at a quarter of the rate, 45° from its samples, which
peaks 3.01 dB above them (arithmetic).
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.signal import firwin, oaconvolve, resample_poly

from cyclechart.sound.limiting import BORDER, LEAD, MARGIN_DB, ceiling, limiting_gains, true_peaks
from cyclechart.sound.rate import RATE
from cyclechart.write.audio.mixdown import _limited

Signal = NDArray[np.float32]

FEW = settings(max_examples=15)
TOP_DB = -1.0
"""dBTP, which nothing may be over (EBU R 128 s1, AES TD1008)."""
SEEDS = st.integers(0, 1 << 20)
CUTS = st.lists(st.sampled_from([40, 700, 5000, 5512, 5513, 20_000]), min_size=1, max_size=5)
FRAMES = 30_000


def peak_db(sound: Signal) -> float:
    """The highest true peak, by sixteen times as many samples."""
    window = firwin(16 * 128 + 1, 1 / 16, window=("kaiser", 9.0))
    finer = resample_poly(sound.astype(float), 16, 1, axis=0, window=window)
    return float(20 * np.log10(max(np.abs(finer).max(), 1e-12)))


def music(seed: int, loud: float) -> Signal:
    """Bursts of noise and of sines, nothing above 16 kHz, as high as ``loud`` (dBFS)."""
    dice = np.random.default_rng(seed)
    made = np.zeros((FRAMES, 2))
    time = np.arange(FRAMES)
    for _ in range(dice.integers(1, 8)):
        start, fall = dice.integers(0, FRAMES), dice.uniform(20, 8000)
        shape = np.where(time >= start, np.exp(-np.maximum(time - start, 0) / fall), 0)
        if dice.random() < 0.5:
            wave = dice.standard_normal((FRAMES, 2))
        else:
            wave = np.sin(2 * np.pi * dice.uniform(30, 16_000) / RATE * time + dice.uniform(0, 6))
            wave = wave[:, None] * dice.uniform(0, 1, 2)
        made += shape[:, None] * wave
    made = oaconvolve(made, firwin(255, 16_000, fs=RATE)[:, None], "same", axes=0)
    return (made * 10 ** (loud / 20) / np.abs(made).max()).astype(np.float32)


def limited(sound: Signal, cuts: list[int], factor: float = 1.0) -> Signal:
    def blocks() -> Iterator[Signal]:
        at = number = 0
        while at < len(sound):
            size = cuts[number % len(cuts)]
            yield sound[at : at + size]
            at, number = at + size, number + 1

    return np.concatenate([block for block, _ in _limited(blocks(), factor, ceiling())])


def test_the_peak_between_two_samples_of_a_sine_is_seen() -> None:
    # Samples at ±0.7071 of the peak, none nearer.
    wave = np.sin(np.pi / 2 * np.arange(2000) + np.pi / 4)
    sound = np.stack([wave * 0.8, wave * 0.3], axis=1).astype(np.float32)
    assert np.abs(sound).max() == pytest.approx(0.8 / np.sqrt(2), abs=1e-6)
    inside = true_peaks(sound)[100:-100]
    assert inside == pytest.approx(0.8, rel=0.01)


@FEW
@given(SEEDS, st.floats(-30, 0))
def test_peaks_are_those_of_a_finer_grid(seed: int, loud: float) -> None:
    sound = music(seed, loud)
    ours = 20 * np.log10(true_peaks(sound).max())
    # Eight times oversampled, a peak at 16 kHz is missed by 0.09 dB at most (cos(π/8·32/44.1)).
    assert ours == pytest.approx(peak_db(sound), abs=MARGIN_DB)


def test_no_frames_have_no_peaks() -> None:
    assert len(true_peaks(np.zeros((0, 2), np.float32))) == 0
    assert limiting_gains(np.zeros((0, 2), np.float32), 1.0) is None


@FEW
@given(SEEDS, st.floats(-3, 9), CUTS)
def test_nothing_comes_out_over_the_ceiling(seed: int, loud: float, cuts: list[int]) -> None:
    assert peak_db(limited(music(seed, loud), cuts)) <= TOP_DB


@pytest.mark.parametrize("by", [0.25, 0.3, 0.35])
def test_high_sines_do_not_either(by: float) -> None:
    wave = 1.5 * np.sin(2 * np.pi * by * np.arange(20_000) + np.pi / 4)
    sound = np.stack([wave, 0.1 * wave], axis=1).astype(np.float32)
    sound[:5000] *= np.linspace(0, 1, 5000, dtype=np.float32)[:, None]
    assert peak_db(limited(sound, [7000])[500:-500]) <= TOP_DB


@FEW
@given(SEEDS, st.floats(-3, 9), CUTS)
def test_where_the_blocks_end_makes_no_difference(seed: int, loud: float, cuts: list[int]) -> None:
    sound = music(seed, loud)
    whole = limited(sound, [FRAMES])
    parted = limited(sound, cuts)
    assert len(parted) == len(sound)
    assert np.abs(parted - whole).max() < 1e-6


@FEW
@given(SEEDS, st.integers(4000, FRAMES - 4000))
def test_what_is_far_from_every_peak_stays_as_it_was(seed: int, place: int) -> None:
    sound = music(seed, -12)
    sound[place] = 1.5
    made = limited(sound, [11_000])
    far = np.abs(np.arange(FRAMES) - place) > 2 * LEAD + 2
    assert np.array_equal(made[far], sound[far])
    assert np.abs(made[place]).max() <= ceiling()


@FEW
@given(SEEDS, st.floats(-40, -2))
def test_a_sound_that_is_low_enough_is_not_touched(seed: int, loud: float) -> None:
    sound = music(seed, loud - 1)
    assert limiting_gains(sound, ceiling()) is None
    assert np.array_equal(limited(sound, [9000]), sound)


@FEW
@given(SEEDS, st.floats(1, 9))
def test_the_gain_is_one_for_both_sides_smooth_and_never_above_one(seed: int, loud: float) -> None:
    sound = music(seed, loud)
    found = limiting_gains(sound, ceiling())
    assert found is not None
    assert len(found) == len(sound)
    assert found.min() > 0 and found.max() <= 1
    # The mean under a Hann window of 2·LEAD frames changes by 1/LEAD of the way a frame at most.
    assert np.abs(np.diff(found)).max() <= (1 - found.min()) / LEAD * 1.01


def test_the_factor_comes_before_the_ceiling() -> None:
    sound = music(3, -10)
    assert np.allclose(limited(sound, [9000], 4.0), limited(sound * 4, [9000]), atol=1e-6)
    assert np.array_equal(limited(sound, [9000], 0.5), sound * np.float32(0.5))


def test_a_block_hears_far_enough_round_its_borders() -> None:
    # The minimum reaches LEAD frames, the mean over it LEAD more, and the oversampling its own.
    assert BORDER > 2 * LEAD
