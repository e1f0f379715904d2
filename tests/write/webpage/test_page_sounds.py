"""Strokes, strings and the room as the page has them: the same sound, small, the same each time."""

from __future__ import annotations

import base64
import io
import subprocess
import sys

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from cyclechart.catalog.roles import THEKA
from cyclechart.sound import drum_models as models
from cyclechart.sound import hand_drums as drums
from cyclechart.sound import kit_drums as kit
from cyclechart.sound import strings
from cyclechart.sound.rate import RATE
from cyclechart.sound.room import response
from cyclechart.write.audio.performance import PartEvents, Stroke
from cyclechart.write.webpage.sounds import (
    STRING_FADE,
    nearest_velocity,
    room_sound,
    string_sound,
    stroke_sound,
    struck_velocities,
)

Samples = NDArray[np.float64]


def part(voice: str, *strokes: tuple[str | int, int]) -> PartEvents:
    struck = tuple(Stroke(at * 100, *one) for at, one in enumerate(strokes))
    return PartEvents("drummer", THEKA, voice, (), struck, 293.66)


def opened(flac: str) -> tuple[Samples, int]:
    samples, rate = soundfile.read(io.BytesIO(base64.b64decode(flac)), dtype="float64")
    return samples, rate


def at_full_rate(samples: Samples, rate: int) -> Samples:
    """Samples at the usual rate, by a spectrum of zeros above what they had."""
    if rate == RATE:
        return samples
    assert 2 * rate == RATE
    return np.fft.irfft(np.fft.rfft(samples), 2 * len(samples)) * 2


@pytest.mark.parametrize("drum", models.DRUMS)
@pytest.mark.parametrize("sound", models.SOUNDS)
def test_a_stroke_is_what_the_synthesiser_makes(drum: str, sound: models.StrokeName) -> None:
    made = drums.stroke(drum, sound, 96, 293.66).astype(float)
    flac = stroke_sound(part(drum), sound, 96)
    assert flac["cents"] is None and flac["velocity"] == 96
    samples = at_full_rate(*opened(flac["flac"]))
    assert 0 <= len(samples) - len(made) <= 1
    error = samples[: len(made)] - made
    assert (error**2).sum() < 1e-5 * (made**2).sum()


@pytest.mark.parametrize("key", kit.HITS)
def test_a_hit_is_what_the_synthesiser_makes(key: int) -> None:
    made = kit.hit(key, 90).astype(float)
    samples = at_full_rate(*opened(stroke_sound(part("drum-kit"), key, 90)["flac"]))
    # A cymbal has less of its end, and 14 bits.
    samples = np.pad(samples, (0, max(0, len(made) - len(samples))))
    error = samples[: len(made)] - made
    assert (error**2).sum() < 1e-5 * (made**2).sum()


def test_what_sounds_above_ten_kilohertz_keeps_its_rate() -> None:
    rates = {key: opened(stroke_sound(part("drum-kit"), key, 90)["flac"])[1] for key in kit.HITS}
    assert rates[kit.RIDE] == rates[kit.CRASH] == rates[kit.HAT] == RATE
    assert rates[kit.KICK] == RATE // 2


def test_a_string_rings_six_seconds_and_goes_to_nothing() -> None:
    sound = string_sound(146.83, -1200.0, 58)
    assert sound["cents"] == -1200.0
    samples, rate = opened(sound["flac"])
    assert rate == RATE // 2 and len(samples) == 6 * rate
    real = strings.pluck(146.83, 6 * RATE, 58).astype(float)
    whole = at_full_rate(samples, rate)
    held = int((6 - STRING_FADE) * RATE)
    error = whole[: held - RATE // 10] - real[: held - RATE // 10]
    assert (error**2).sum() < 1e-4 * (real**2).sum()
    assert np.array_equal(samples * 2048, np.round(samples * 2048))  # in 12 bits
    assert sound["flac"] != string_sound(146.83, -1200.0, 58, 1)["flac"]
    assert abs(samples[-1]) < 2 / 32768
    spectrum = np.abs(np.fft.rfft(real * np.hanning(len(real)))) ** 2
    above = spectrum[int(11_025 / RATE * len(real)) :].sum()
    assert above < 1e-8 * spectrum.sum()


def test_one_velocity_or_two() -> None:
    quiet = part(
        "tabla", ("na", 60), ("na", 70), ("na", 70), ("tin", 60), ("tin", 62), ("tin", 110)
    )
    found = struck_velocities(quiet)
    assert found == {"na": (70,), "tin": (62, 110)}
    assert nearest_velocity(found["tin"], 80) == 62 and nearest_velocity(found["tin"], 100) == 110
    assert nearest_velocity((60, 80), 70) == 60


def test_the_room_is_stereo_and_as_loud() -> None:
    samples, rate = opened(room_sound())
    assert rate == RATE and samples.shape == response().shape
    assert np.abs(samples - response()).max() < 2 / 32768
    assert np.allclose((samples**2).sum(axis=0), 1, atol=1e-3)


def test_the_bytes_are_the_same_in_another_process() -> None:
    code = (
        "from cyclechart.write.webpage.sounds import room_sound, string_sound;"
        "import hashlib;"
        "text = room_sound() + string_sound(146.83, 0.0, 58)['flac'];"
        "print(hashlib.sha256(text.encode()).hexdigest())"
    )
    run = [sys.executable, "-c", code]
    outs = {
        subprocess.run(run, capture_output=True, check=True, text=True).stdout for _ in range(2)
    }
    assert len(outs) == 1 and len(outs.pop()) == 65
