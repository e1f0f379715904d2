"""Tones that go on in one breath: pitch, level and velocity where they join, measured."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from test_voices import cents, instant_cents, noiseless, pitch, rms, sine

from cyclechart.sound.legato import AFTER, BEFORE, LegatoTone
from cyclechart.sound.rate import RATE, Wave
from cyclechart.sound.voices import phrase, play_phrase, tone

BLOWN = ["flute", "reed", "clarinet", "brass", "bowed", "vowel"]


def levels(sound: Wave, seconds: float = 0.012) -> NDArray[np.float64]:
    """Return the RMS in dB of short stretches, each half over the one before."""
    size = round(seconds * RATE)
    return np.array([rms(sound[at : at + size]) for at in range(0, len(sound) - size, size // 2)])


@pytest.mark.parametrize("name", BLOWN)
@pytest.mark.parametrize("ratio", [9 / 8, 3 / 2, 2.0, 15 / 16])
def test_a_join_neither_breaks_off_nor_clicks(name: str, ratio: float) -> None:
    tones = [LegatoTone(0, 392.0, 86), LegatoTone(RATE, 392.0 * ratio, 86)]
    sound = play_phrase(noiseless(name), tones, 2 * RATE)
    near = levels(sound[RATE - 4000 : RATE + 6000])
    held = rms(sound[RATE // 2 : RATE - 4000])
    assert -4 < near.min() - held < -0.5 and near.max() - held < 3
    spectrum = np.fft.rfft(sound.astype(float))
    spectrum[: round(17_500 * len(sound) / RATE)] = 0
    click = np.fft.irfft(spectrum, len(sound))
    assert np.abs(click[RATE - 4000 : RATE + 6000]).max() < 1e-3 * np.abs(sound).max()


def test_pitch_moves_fast_and_without_a_step() -> None:
    tones = [LegatoTone(0, 440.0, 86), LegatoTone(RATE, 440.0 * 3 / 2, 86)]
    heard = instant_cents(play_phrase(sine(), tones, 2 * RATE), 440.0)
    rise = cents(1.5, 1)
    assert abs(heard[RATE - BEFORE - 900]) < 1
    assert heard[RATE + AFTER + 900] == pytest.approx(rise, abs=1)
    within = heard[RATE - BEFORE - 200 : RATE + AFTER + 200]
    assert np.all(np.diff(within) > -0.5)
    assert 0.02 < (BEFORE + AFTER) / RATE < 0.04


@pytest.mark.parametrize("name", [*BLOWN, "sitar"])
def test_each_tone_of_a_phrase_is_in_tune(name: str) -> None:
    hertz = [330.0, 371.25, 412.5, 440.0]
    tones = [LegatoTone(at * RATE, hz, 80 + 4 * at) for at, hz in enumerate(hertz)]
    sound = phrase(name, tones, 4 * RATE)
    for at, hz in enumerate(hertz):
        held = sound[at * RATE + RATE // 8 : (at + 1) * RATE - 2000]
        assert abs(cents(pitch(held, hz * 0.96, hz * 1.04), hz)) < 0.5


def test_velocity_changes_within_a_phrase() -> None:
    tones = [LegatoTone(0, 392.0, 60), LegatoTone(RATE, 440.0, 100)]
    sound = play_phrase(noiseless("reed"), tones, 2 * RATE)
    soft, loud = rms(sound[RATE // 2 : RATE - 2000]), rms(sound[RATE + 8000 : 2 * RATE])
    assert loud - soft == pytest.approx(20 * 1.5 * np.log10(100 / 60), abs=0.7)


def test_curves_of_their_own_move_on_within_a_phrase() -> None:
    """A glide in the first tone that ends elsewhere, and a wave in the second."""
    glide = [(10_000, 0.0), (20_000, 300.0)]
    tones = [LegatoTone(0, 440.0, 86, glide), LegatoTone(30_000, 550.0, 86, [(20_000, -100.0)])]
    heard = instant_cents(play_phrase(sine(), tones, 60_000), 440.0)
    assert heard[25_000] == pytest.approx(300, abs=2)
    assert heard[30_000 + 22_000] == pytest.approx(cents(550, 440) - 100, abs=2)


def test_a_pulled_string_is_not_struck_again_and_sounds_on() -> None:
    tones = [LegatoTone(0, 220.0, 86), LegatoTone(RATE, 247.5, 86)]
    pulled = phrase("sitar", tones, 2 * RATE)
    struck = tone("sitar", 247.5, RATE, 86)
    assert rms(pulled[RATE : RATE + 4410]) < rms(struck[:4410]) - 2
    assert rms(pulled[RATE : RATE + 4410]) > rms(pulled[RATE - 6000 : RATE - 1600]) - 3


def test_one_tone_is_a_phrase() -> None:
    alone = phrase("flute", [LegatoTone(0, 523.0, 90, [(4000, 50.0)])], 20_000)
    assert np.array_equal(alone, tone("flute", 523.0, 20_000, 90, [(4000, 50.0)]))


@pytest.mark.parametrize("starts", [(0, 0), (100, 200), (0, 5000), (0, -5)])
def test_refuses_tones_out_of_order(starts: tuple[int, int]) -> None:
    with pytest.raises(ValueError):
        phrase("reed", [LegatoTone(start, 440.0, 86) for start in starts], 5000)


@pytest.mark.parametrize("gap", [1, 2, 3, 40, 700])
def test_tones_of_a_few_frames_are_finite(gap: int) -> None:
    tones = [LegatoTone(at * gap, 300.0 + 37 * at, 1 + 6 * at) for at in range(20)]
    sound = phrase("sitar", tones, 20 * gap)
    assert np.all(np.isfinite(sound)) and np.abs(sound).max() < 1
