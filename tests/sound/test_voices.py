"""Melody voices measured from outside: pitch, glides, beginnings, ends, levels and noise between.

Sources: cents and decibels as ISO 80000-8 has them; a phase's advance between two FFTs gives the
pitch (Flanagan and Golden, Bell System Technical Journal 45, 1966). The limits are the tool's own:
held notes are there to tune to, 5 cents being about what is heard (common practice; from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.signal import hilbert
from scipy.signal.windows import blackmanharris

from cyclechart.sound.rate import RATE, Wave
from cyclechart.sound.spectra import LEVELS, Zone
from cyclechart.sound.voice_tables import STEADY, STILL, Noise, Voice, named_voice, voice_names
from cyclechart.sound.voices import play, tail, tone
from cyclechart.sound.wavetable import TOP_HZ

REGISTERS = {
    "flute": (523, 784),
    "reed": (262, 523),
    "brass": (233, 440),
    "bowed": (294, 587),
    "lute": (147, 294),
    "clarinet": (262, 523),
    "sitar": (147, 294),
    "sarod": (147, 294),
    "veena": (147, 294),
    "guitar": (147, 294),
    "steel": (196, 392),
    "electric": (147, 294),
    "piano": (262, 523),
    "tine": (262, 523),
    "santoor": (262, 523),
    "vibraphone": (262, 523),
    "marimba": (175, 349),
    "organ": (262, 523),
    "vowel": (196, 392),
    "bass": (55, 110),
}
"""Where each voice usually sounds (Hz), for how loud it is there."""
PLUCKED = set(REGISTERS) - {"flute", "reed", "clarinet", "brass", "bowed", "organ", "vowel"}
SECOND = RATE
CALM = Noise(500, 2000, breath=0.0, burst=0.0, burst_seconds=0.01)

voices = pytest.mark.parametrize("name", sorted(voice_names()))


def noiseless(name: str) -> Voice:
    return replace(named_voice(name), noise=CALM, tremor=STILL, drift=STEADY)


def sine() -> Voice:
    """A voice of one partial, whose phase can be read off at each sample."""
    zone = Zone(261.63, ((math.sqrt(2),),) * LEVELS)
    return replace(noiseless("organ"), zones=(zone,))


def cents(hz: float, other: float) -> float:
    return 1200 * math.log2(hz / other)


def pitch(sound: Wave, low: float, high: float) -> float:
    """The frequency (Hz) of the strongest line between two, by the advance of its phase."""
    size = len(sound) * 3 // 4
    hop = len(sound) - size
    window = np.hanning(size)
    bins = np.arange(math.floor(low * size / RATE), math.ceil(high * size / RATE) + 1)
    lines = np.abs(np.fft.rfft(sound[:size] * window))
    hz = float(bins[np.argmax(lines[bins])]) * RATE / size
    # First to half a bin, then at the pitch found: in the middle of a line how the level falls
    # within the window no longer turns the phase.
    for _ in range(3):
        turning = np.exp(-2j * np.pi * hz / RATE * np.arange(len(sound))) * sound
        advance = np.sum(turning[hop:] * window) / np.sum(turning[:size] * window)
        hz += float(np.angle(advance)) / (2 * np.pi) * RATE / hop
    return hz


def rms(sound: Wave) -> float:
    return 10 * math.log10(float(np.mean(np.square(sound, dtype=float))) + 1e-20)


def instant_cents(sound: Wave, hz: float) -> NDArray[np.float64]:
    """Return the distance of a sine from ``hz`` between each two samples, in cents."""
    steps = np.diff(np.unwrap(np.angle(hilbert(sound.astype(float)))))
    steps = np.maximum(steps, 1e-9)  # where it has died away there is no pitch
    return np.asarray(1200 * np.log2(steps * RATE / (2 * np.pi) / hz))


@voices
@settings(max_examples=6, deadline=None)
@given(hz=st.floats(50, 2000), velocity=st.integers(1, 127))
def test_held_note_in_tune(name: str, hz: float, velocity: int) -> None:
    sound = tone(name, hz, SECOND, velocity)
    assert abs(cents(pitch(sound[4410:SECOND], hz * 0.95, hz * 1.05), hz)) < 0.05


@pytest.mark.parametrize("hz", [55.0, 261.6255653, 1318.51, 3000.1])
def test_steady_phase_exact_for_ten_seconds(hz: float) -> None:
    sound = play(sine(), hz, 10 * SECOND, 86)
    phase = np.unwrap(np.angle(hilbert(sound.astype(float))))[2000 : 10 * SECOND - 2000]
    slope = np.polyfit(np.arange(len(phase)), phase, 1)[0]
    assert abs(cents(slope * RATE / (2 * np.pi), hz)) < 0.001


@voices
@settings(max_examples=4, deadline=None)
@given(hz=st.floats(100, 700), by=st.floats(-1900, 1900), lasts=st.integers(2000, 30_000))
def test_glide_ends_in_tune(name: str, hz: float, by: float, lasts: int) -> None:
    end = 6000 + lasts
    sound = tone(name, hz, end + SECOND, 86, [(6000, 0.0), (end, by)])
    goal = hz * 2 ** (by / 1200)
    assert abs(cents(pitch(sound[end : end + SECOND], goal * 0.95, goal * 1.05), goal)) < 0.5


@pytest.mark.parametrize("by", [-700.0, 200.0, 1200.0])
def test_glide_between_two_points_is_half_a_cosine(by: float) -> None:
    sound = play(sine(), 440, SECOND, 86, [(10_000, 0.0), (30_000, by)])
    t = np.clip((np.arange(len(sound) - 1) + 0.5 - 10_000) / 20_000, 0, 1)
    due = by * (1 - np.cos(np.pi * t)) / 2
    heard = instant_cents(sound, 440)
    assert np.abs(heard - due)[3000:40_000].max() < 0.5


def test_glide_given_in_many_points_does_not_stop_at_each() -> None:
    """An eased octave in 24 pieces, as an arrangement gives it."""
    points = [(10_000 + 1000 * n, 600 * (1 - math.cos(math.pi * n / 24))) for n in range(25)]
    sound = play(sine(), 440, 40_000, 86, points)
    t = np.clip((np.arange(len(sound) - 1) + 0.5 - 10_000) / 24_000, 0, 1)
    due = 600 * (1 - np.cos(np.pi * t))
    heard = instant_cents(sound, 440)
    assert np.abs(heard - due)[3000:38_000].max() < 2
    speed = heard[15_100:29_100] - heard[15_000:29_000]
    assert speed.min() > 0.7 * 100 * 600 * math.pi / 24_000 * math.sin(math.pi * 5 / 24)


def test_curve_begins_at_the_pitch_and_holds_its_end_in_the_tail() -> None:
    sound = play(sine(), 440, SECOND, 86, [(20_000, 300.0)])
    heard = instant_cents(sound, 440)
    assert abs(heard[2000]) < 15
    assert heard[10_000] == pytest.approx(150, abs=1)
    assert heard[SECOND + 800] == pytest.approx(300, abs=0.5)


def test_of_points_on_one_frame_the_last_holds() -> None:
    curve = [(0, 0.0), (9000, 100.0), (9000, 200.0)]
    same = tone("reed", 330, 20_000, 86, [(0, 0.0), (9000, 200.0)])
    assert np.array_equal(tone("reed", 330, 20_000, 86, curve), same)


@voices
@pytest.mark.parametrize("frames", [882, 30_000])
@pytest.mark.parametrize("velocity", [10, 86, 127])
def test_begins_at_once(name: str, frames: int, velocity: int) -> None:
    for hz in (REGISTERS[name][0] / 2, *REGISTERS[name], REGISTERS[name][1] * 2):
        size = np.abs(tone(name, hz, frames, velocity))
        assert np.argmax(size > size.max() / 100) <= 0.002 * RATE


@voices
def test_short_note_is_heard(name: str) -> None:
    hz = REGISTERS[name][0]
    short = tone(name, hz, 882, 86)
    assert len(short) == 882 + tail(name)
    assert rms(short[:882]) > rms(tone(name, hz, SECOND, 86)[:SECOND]) - 9


@voices
@settings(max_examples=5, deadline=None)
@given(
    hz=st.floats(30, 4000),
    frames=st.integers(1, 20_000),
    velocity=st.integers(1, 127),
    curve=st.lists(st.tuples(st.integers(0, 30_000), st.floats(-2300, 2300)), max_size=8),
)
def test_any_note_is_finite_within_full_scale_and_the_same_again(
    name: str, hz: float, frames: int, velocity: int, curve: Sequence[tuple[int, float]]
) -> None:
    curve = sorted(curve)
    sound = tone(name, hz, frames, velocity, curve)
    assert sound.dtype == np.float32 and sound.shape == (frames + tail(name),)
    assert np.all(np.isfinite(sound)) and np.abs(sound).max() < 1
    assert sound.tobytes() == tone(name, hz, frames, velocity, curve).tobytes()


@voices
def test_peak_within_full_scale_all_over_the_compass(name: str) -> None:
    peaks = [np.abs(tone(name, 27.5 * 2 ** (n / 2), 9000, 127)).max() for n in range(15)]
    assert max(peaks) < 0.9


@voices
def test_louder_and_brighter_with_velocity(name: str) -> None:
    hz = REGISTERS[name][0]
    sounds = [play(noiseless(name), hz, 20_000, v)[:20_000] for v in (1, 20, 48, 86, 110, 127)]
    levels = [rms(sound) for sound in sounds]
    assert levels == sorted(set(levels))
    assert levels[-1] - levels[3] == pytest.approx(5, abs=1)
    centres = []
    for sound in sounds:
        lines = np.abs(np.fft.rfft(sound)) ** 2
        centres.append(float(np.sum(lines * np.arange(len(lines))) / np.sum(lines)))
    assert centres == sorted(centres)


@voices
def test_about_one_loudness_in_the_usual_register(name: str) -> None:
    for hz in REGISTERS[name]:
        assert rms(tone(name, hz, SECOND // 2, 86)[: SECOND // 2]) == pytest.approx(-20, abs=1.2)


@voices
def test_plucked_voices_die_away_and_others_hold(name: str) -> None:
    sound = tone(name, REGISTERS[name][0], 3 * SECOND, 86)
    fell = rms(sound[4410:8820]) - rms(sound[2 * SECOND : 2 * SECOND + 4410])
    assert fell > 6 if name in PLUCKED else abs(fell) < 2.5


@voices
@pytest.mark.parametrize("hz", [61.3, 233.1, 871.7, 1661.2, 2993.0])
def test_nothing_between_the_partials(name: str, hz: float) -> None:
    """Neither images of the table nor aliases: measured with the noise left out."""
    lasting = replace(noiseless(name), fade=0.0)  # a line that falls fast is a wide one
    sound = play(lasting, hz, 2 * SECOND, 127)[SECOND // 2 : 2 * SECOND]
    lines = np.abs(np.fft.rfft(sound * blackmanharris(len(sound))))
    at = np.fft.rfftfreq(len(sound), 1 / RATE)
    between = np.abs(at - hz * np.round(at / hz)) > 8
    assert 20 * math.log10(lines[between].max() / lines.max()) < -60


@voices
def test_glide_to_the_top_brings_no_alias(name: str) -> None:
    """Energy under the gliding partial 1 could only be aliased."""
    curve = [(0, 0.0), (20_000, 2300.0)]
    sound = play(noiseless(name), 790, 2 * SECOND, 127, curve)[SECOND : 2 * SECOND]
    lines = np.abs(np.fft.rfft(sound * blackmanharris(len(sound))))
    at = np.fft.rfftfreq(len(sound), 1 / RATE)
    hz = 790 * 2 ** (2300 / 1200)
    between = np.abs(at - hz * np.round(at / hz)) > 8
    assert 20 * math.log10(lines[between].max() / lines.max()) < -60


@voices
@pytest.mark.parametrize("curve", [(), ((9000, 0.0), (9800, 500.0), (20_000, -500.0))])
def test_no_click(name: str, curve: Sequence[tuple[int, float]]) -> None:
    """A click has energy at all frequencies: no moment has any above the highest partial."""
    sound = play(noiseless(name), 110, 30_000, 100, curve).astype(float)
    padded = np.concatenate([np.zeros(2000), sound, np.zeros(2000)])
    spectrum = np.fft.rfft(padded)
    spectrum[: round(17_500 * len(padded) / RATE)] = 0
    above = np.fft.irfft(spectrum, len(padded))
    assert 20 * math.log10(np.abs(above).max() / np.abs(sound).max()) < -60
    assert abs(sound[0]) < 1e-4 and abs(sound[-1]) < 1e-4


@pytest.mark.parametrize(
    ("name", "hz", "frames", "velocity", "curve"),
    [
        ("kazoo", 440, 100, 86, []),
        ("flute", 0, 100, 86, []),
        ("flute", math.nan, 100, 86, []),
        ("flute", TOP_HZ, 100, 86, []),
        ("flute", 15_000, 100, 86, [(50, 700.0)]),
        ("flute", 440, 100, 86, [(50, 1e9)]),
        ("flute", 440, 100, 86, [(50, -1e9)]),
        ("flute", 440, 100, 86, [(50, math.nan)]),
        ("flute", 440, 0, 86, []),
        ("flute", 440, 100, 0, []),
        ("flute", 440, 100, 128, []),
        ("flute", 440, 100, 86, [(50, 0.0), (40, 0.0)]),
        ("flute", 440, 100, 86, [(-1, 0.0)]),
    ],
)
def test_refuses(
    name: str, hz: float, frames: int, velocity: int, curve: Sequence[tuple[int, float]]
) -> None:
    with pytest.raises(ValueError):
        tone(name, hz, frames, velocity, curve)
