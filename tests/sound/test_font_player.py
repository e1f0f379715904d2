"""Tones of a sound font: in tune whatever its samples are off by, along their curve, and ended.

Outside: pitches read off the spectrum (support.hearing_sound), a font of sines that are off by what
we gave them.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from support.hearing_sound import RATE, cents_off, rms_db
from support.small_font import BAND, Preset, small_font

from cyclechart.sound import font_player
from cyclechart.sound.font_player import FontPreset
from cyclechart.sound.soundfont_file import read_soundfont

pytest.importorskip("tinysoundfont")


def preset(folder: Path, bank: int, program: int, presets: tuple[Preset, ...] = BAND) -> FontPreset:
    path = folder / "font.sf2"
    path.write_bytes(small_font(presets))
    return FontPreset(path, read_soundfont(path).digest, bank, program)


@pytest.mark.parametrize("sharp", [-45.0, -8.0, 0.0, 13.0, 40.0])
def test_a_tone_is_in_tune_whatever_the_sample_is_off(sharp: float, tmp_path: Path) -> None:
    one = preset(tmp_path, 0, 73, (Preset(0, 73, sharp),))
    for hz in (146.83, 200.0, 261.1, 439.0, 666.6, 1111.0):
        sound = one.tone(hz, 2 * RATE, 90).astype(float)
        assert abs(cents_off(sound, (0.3, 1.8), hz)) < 0.1


def test_what_the_sample_is_off_is_what_is_measured(tmp_path: Path) -> None:
    one = preset(tmp_path, 0, 73, (Preset(0, 73, 13.0),))
    assert one._cents_off(69, 90) == pytest.approx(13.0, abs=0.05)


def test_a_tone_follows_its_curve(tmp_path: Path) -> None:
    one = preset(tmp_path, 0, 73)
    curve = ((0, -100.0), (RATE, -100.0), (RATE + RATE // 4, 50.0), (3 * RATE, 50.0))
    sound = one.tone(300.0, 3 * RATE, 90, curve).astype(float)
    assert abs(cents_off(sound, (0.2, 0.95), 300 * 2 ** (-100 / 1200))) < 0.1
    assert abs(cents_off(sound, (1.4, 2.9), 300 * 2 ** (50 / 1200))) < 0.1
    # Half way of the glide, to a semitone's fraction: zero crossings of 40 ms.
    part = sound[round(1.105 * RATE) : round(1.145 * RATE)]
    rising = np.flatnonzero((part[:-1] < 0) & (part[1:] >= 0))
    times = rising + part[rising] / (part[rising] - part[rising + 1])
    hz = (len(times) - 1) * RATE / (times[-1] - times[0])
    assert 1200 * np.log2(hz / 300) == pytest.approx(-25.0, abs=6)


def test_a_tone_begins_at_once_and_ends(tmp_path: Path) -> None:
    one = preset(tmp_path, 0, 73)
    sound = one.tone(300.0, RATE, 90).astype(float)
    assert np.abs(sound[: RATE // 100]).max() > 0.01
    assert RATE < len(sound) <= RATE + font_player.LONGEST_RING
    assert sound[-1] == 0
    assert rms_db(sound[-RATE // 50 :]) < -60
    assert not np.isnan(sound).any()


def test_a_joined_tone_has_no_attack(tmp_path: Path) -> None:
    one = preset(tmp_path, 0, 73)
    joined = one.tone(300.0, RATE, 90, (), True)
    assert abs(cents_off(joined.astype(float), (0.1, 0.9), 300.0)) < 0.1
    assert np.abs(joined[:5]).max() < 0.02


def test_the_same_tone_again_and_after_others(tmp_path: Path) -> None:
    one = preset(tmp_path, 0, 73)
    first = one.tone(300.0, 9000, 90)
    one.tone(200.0, 500, 127, ((0, 0.0), (400, 300.0)))
    preset(tmp_path, 128, 0).hit(38, 100)
    assert np.array_equal(one.tone(300.0, 9000, 90), first)
    assert np.array_equal(preset(tmp_path, 0, 73).tone(300.0, 9000, 90), first)


def test_noise_is_taken_as_it_is() -> None:
    noise = np.random.default_rng(1).standard_normal(RATE)
    assert abs(font_player.cents_off(noise, 300.0)) <= font_player.MOST_OFF
    assert font_player.cents_off(np.zeros(RATE), 300.0) == 0.0


@pytest.mark.parametrize(
    "moves",
    [[], [(0, 1.0)], [(0, 0.0), (10, 1.0)], [(500, 0.0), (900, 1.0)], [(0, 0.0), (9999, 2.0)]],
)
def test_stretches_of_a_curve_fill_the_tone(moves: list[tuple[int, float]]) -> None:
    for frames in (1, 63, 64, 700, 5000):
        ends = [end for end, _ in font_player._tunings(moves, frames)]
        assert ends[-1] == frames
        assert ends == sorted(set(ends))
