"""What the rehearsal page cannot make itself: strokes, the drone's strings, the room, as FLAC.

A stroke sounds the same on any Sa and a string moves with it, so each is rendered once and the page
plays it louder or softer. All are 16 bits; what has nothing above 10 kHz is kept at half the rate.
"""

from __future__ import annotations

import io
from base64 import b64encode
from collections import Counter
from collections.abc import Iterator, Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from cyclechart.sound import hand_drums as drums
from cyclechart.sound import kit_drums as kit
from cyclechart.sound import strings
from cyclechart.sound.rate import RATE, Wave
from cyclechart.sound.resonance import Floats
from cyclechart.sound.room import response
from cyclechart.write.audio.performance import PartEvents
from cyclechart.write.webpage.schema import SoundData

STRING_SECONDS = 6.0
"""A string is plucked again after 4.6 s; a page that plays slower has this much of it."""
STRING_FADE = 1.5
"""Seconds at its end in which it goes to nothing."""
SPREAD = 20
"""Velocities of one stroke that lie further apart are rendered as a soft and a hard one: beyond
that the colour differs, not only the level."""
HALF_FROM = 10_000.0
"""Hz: what has less than ``INAUDIBLE`` of its energy above is kept at half the rate."""
INAUDIBLE = 1e-6


def struck_velocities(part: PartEvents) -> dict[str | int, tuple[int, ...]]:
    """At which velocities each sound of a part is rendered: one, or a soft and a hard one, each as
    most strokes near it are."""
    found: dict[str | int, Counter[int]] = {}
    for stroke in part.strokes:
        found.setdefault(stroke.sound, Counter())[stroke.velocity] += 1
    return {sound: tuple(_chosen(counts)) for sound, counts in found.items()}


def _chosen(counts: Counter[int]) -> Iterator[int]:
    low, high = min(counts), max(counts)
    middle = (low + high) / 2 if high - low > SPREAD else high
    for group in ([v for v in counts if v <= middle], [v for v in counts if v > middle]):
        if group:
            yield max(group, key=lambda velocity: (counts[velocity], velocity))


def nearest_velocity(velocities: Sequence[int], velocity: int) -> int:
    """The one of the rendered velocities that a stroke is played from; of two the softer."""
    return min(velocities, key=lambda one: (abs(one - velocity), one))


def stroke_sound(part: PartEvents, sound: str | int, velocity: int) -> SoundData:
    """A stroke of a part's drum, or a hit of the kit or the hands."""
    by_hand = isinstance(sound, str)
    flac = (
        _hand_drum_flac(part.voice, sound, velocity, part.hz)
        if by_hand
        else _kit_flac(sound, velocity)
    )
    return {"flac": flac, "cents": None, "velocity": velocity}


def string_sound(hz: float, cents: float, velocity: int) -> SoundData:
    """A string of the drone, plucked once."""
    return {"flac": _string_flac(hz, velocity), "cents": cents, "velocity": velocity}


@lru_cache(maxsize=256)
def _hand_drum_flac(drum: str, sound: str, velocity: int, hz: float) -> str:
    return _mono_flac(drums.stroke(drum, sound, velocity, hz))


@lru_cache(maxsize=256)
def _kit_flac(key: int, velocity: int) -> str:
    return _mono_flac(kit.hit(key, velocity))


@lru_cache(maxsize=64)
def _string_flac(hz: float, velocity: int) -> str:
    wave = strings.pluck(hz, round(STRING_SECONDS * RATE), velocity)
    length = round(STRING_FADE * RATE)
    wave[-length:] *= 0.5 + 0.5 * np.cos(np.pi * np.arange(1, length + 1) / length)
    return _mono_flac(wave)


@lru_cache(maxsize=1)
def room_sound() -> str:
    """The room's answer to a click, stereo; a convolution with it as it is gives the room."""
    return _flac(response(), RATE)


def _mono_flac(wave: Wave) -> str:
    """A mono sound, at half the rate where nothing is lost."""
    half = -(-len(wave) // 2)
    spectrum = np.fft.rfft(wave.astype(np.float64), 2 * half)
    power = np.abs(spectrum) ** 2
    above = int(HALF_FROM / RATE * 2 * half)
    if power[above:].sum() > INAUDIBLE * power.sum():
        return _flac(wave, RATE)
    # A sound begins and ends in silence, so that it may be taken for one turn of a circle.
    halved: Floats = np.fft.irfft(spectrum[: half // 2 + 1], half) / 2
    return _flac(halved, RATE // 2)


def _flac(samples: NDArray[np.floating], rate: int) -> str:
    """Samples (frames,) or (frames, channels), full scale ±1, as FLAC of 16 bits in base64."""
    import soundfile

    stream = io.BytesIO()
    soundfile.write(stream, samples, rate, format="FLAC", subtype="PCM_16", compression_level=1.0)
    return b64encode(stream.getvalue()).decode()
