"""The drone's string: in tune over many plucks, its bright band falling, clean at both ends."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from support.drone_figures import spectrum

from cyclechart.sound.rate import RATE, Wave
from cyclechart.sound.strings import pluck

FEW = settings(max_examples=15)
PITCHES = st.floats(60, 600)
VELOCITIES = st.integers(1, 127)


def rms(wave: Wave | NDArray[np.float64]) -> float:
    return float(np.sqrt(np.mean(np.asarray(wave, float) ** 2)))


def lines(wave: Wave, hz: float, count: int) -> NDArray[np.float64]:
    """The strength of each of the first partials."""
    times = np.arange(len(wave)) / RATE
    window = np.hanning(len(wave)) * np.asarray(wave, float)
    waves = np.exp(-2j * np.pi * hz * np.outer(np.arange(1, count + 1), times))
    return np.asarray(np.abs(waves @ window), float)


def heard(wave: NDArray[np.float64], near: float) -> float:
    """The frequency of the line next to one, by a parabola through a padded spectrum in dB."""
    size = 1 << 22  # over three times as long
    spectrum = np.abs(np.fft.rfft(wave * np.blackman(len(wave)), size))
    place = round(near * size / RATE)
    low = place - 12
    top = low + int(np.argmax(spectrum[low : place + 13]))
    left, middle, right = np.log(spectrum[top - 1 : top + 2])
    return float((top + (left - right) / (2 * (left - 2 * middle + right))) * RATE / size)


@pytest.mark.parametrize("hz", [65.41, 138.59, 415.3])
def test_many_plucks_at_odd_places_stay_in_tune(hz: float) -> None:
    # 0.05 cents: a hundredth of the difference that practised ears tell apart (some 5 cents,
    # common knowledge; from memory). Partials are whole multiples: a string's, by theory.
    whole = np.zeros(30 * RATE)
    at = 777
    while at < len(whole):
        frames = min(len(whole) - at, 6 * RATE)
        whole[at : at + frames] += pluck(hz, frames, 90, at)
        at += 91_813 + at % 7919
    for number in (1, 2, 3, 5):
        cents = 1200 * np.log2(heard(whole, number * hz) / (number * hz))
        assert abs(cents) < 0.05, number


@pytest.mark.parametrize("velocity", [20, 58, 127])
@pytest.mark.parametrize("hz", [65.41, 138.59, 261.63])
def test_the_bright_band_falls(hz: float, velocity: int) -> None:
    # A band over a curved bridge whose centre falls while the string rings: van Walstijn and
    # others, ISMA 2014, DAFx-16, DAFx-17. Its path is ours (facts: 900 + 4300·e^(−t/1.7) Hz).
    wave = pluck(hz, 6 * RATE, velocity)
    centres, bands = [], []
    for start in range(0, 5 * RATE, RATE // 2):
        energy, pitch = (values[1:] for values in spectrum(wave[start : start + RATE // 2]))
        centres.append(float(np.average(pitch, weights=energy)))
        # Without the string's own fall towards the high partials the band stands out.
        bands.append(float(np.exp(np.average(np.log(pitch), weights=energy * pitch**1.8))))
    # A second later both are lower; between, the two planes of the string beat.
    for values in (centres, bands):
        assert all(after < before for before, after in zip(values, values[2:], strict=False))
    assert centres[4] < 0.6 * centres[0]  # after two seconds
    assert bands[0] > 2500
    assert bands[-1] < 1600, (centres, bands)


def test_partials_with_a_node_at_the_pluck_sound() -> None:
    # Raman, Proc. Indian Assoc. Cultiv. Sci. 7, 1921: the curved bridge sounds them all.
    strength = lines(pluck(138.59, RATE, 100), 138.59, 20)
    # Near its middle a plain string's partial 2 would be at an eighth of its neighbours.
    beside = (strength[:-2] + strength[2:]) / 2
    assert (strength[1:-1:2] / beside[::2]).min() > 0.25


@FEW
@given(PITCHES, VELOCITIES, st.integers(0, 10**9))
def test_clean_at_both_ends(hz: float, velocity: int, at: int) -> None:
    wave = pluck(hz, RATE, velocity, at, fade=True)
    assert wave.dtype == np.float32
    assert wave.shape == (RATE,)
    assert np.isfinite(wave).all()
    peak = np.abs(wave).max()
    assert 0 < peak < 1
    # No click: the first and last half millisecond are 30 dB below the peak, the ends zero.
    assert wave[0] == 0 and wave[-1] == 0
    assert np.abs(wave[:22]).max() < peak / 31
    assert np.abs(wave[-22:]).max() < peak / 31


@FEW
@given(PITCHES, VELOCITIES)
def test_it_dies_away(hz: float, velocity: int) -> None:
    wave = pluck(hz, 8 * RATE, velocity)
    seconds = [rms(wave[start : start + RATE]) for start in range(0, 8 * RATE, RATE)]
    assert all(after < before for before, after in itertools.pairwise(seconds))
    # A drone string is heard for many seconds (common practice): 10 to 45 dB in seven.
    assert 10 < 20 * np.log10(seconds[0] / seconds[-1]) < 45


@pytest.mark.parametrize("hz", [60.0, 600.0])
def test_harder_is_louder_and_brighter(hz: float) -> None:
    waves = [pluck(hz, RATE // 4, velocity) for velocity in range(1, 128)]
    levels = [rms(wave) for wave in waves]
    assert all(after > before for before, after in itertools.pairwise(levels))
    # To the top of the band as it begins.
    count = int(6000 / hz)
    soft, hard = lines(waves[30], hz, count), lines(waves[120], hz, count)
    # Brightness goes with force a little only: the bridge makes it.
    assert 1.1 < hard[6:].sum() / hard[0] / (soft[6:].sum() / soft[0]) < 2


def test_a_pluck_later_goes_on_in_phase() -> None:
    # Where two plucks of one string lie over each other the phases of partial 1 are the same.
    hz, late = 138.59, 100_003
    first, second = pluck(hz, 2 * late, 90), pluck(hz, late, 90, late)
    turn = np.exp(-2j * np.pi * hz * np.arange(late, 2 * late) / RATE) * np.hanning(late)
    # But for the planes, which turn away from each other until the string is plucked again.
    assert abs(np.angle((first[late:] @ turn) / (second @ turn))) < 0.03


def test_the_same_bytes() -> None:
    one, two = (pluck(138.59, RATE, 90, 12_345).tobytes() for _ in range(2))
    assert one == two


@pytest.mark.parametrize("frames", [0, 1, 2, 255, 256, 257, 1000])
def test_short_ones(frames: int) -> None:
    wave = pluck(138.59, frames, 90, fade=True)
    assert wave.shape == (frames,)
    assert np.isfinite(wave).all()
    # Not faded, a shorter one is the beginning of a longer.
    long = pluck(138.59, 5000, 90)
    assert np.allclose(pluck(138.59, frames, 90), long[:frames], atol=1e-6)


@pytest.mark.parametrize(
    ("hz", "frames", "velocity", "at"),
    [(0.0, 9, 9, 0), (float("nan"), 9, 9, 0), (5000.0, 9, 9, 0), (99.0, -1, 9, 0),
     (99.0, 9, 0, 0), (99.0, 9, 128, 0), (99.0, 9, 9, -1)],
)  # fmt: skip
def test_what_cannot_be_is_said(hz: float, frames: int, velocity: int, at: int) -> None:
    with pytest.raises(ValueError, match=r"^[A-Z].*\.$"):
        pluck(hz, frames, velocity, at)
