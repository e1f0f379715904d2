"""The sounds that the rehearsal page cannot synthesise: strokes, drone strings, the room, as FLAC.

A stroke sounds the same on any Sa and a string moves with it, so each is rendered once and the page
plays it louder or softer. All have 16 bits, cymbals 14; those with nothing above 10 kHz have half
the rate.
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
from cyclechart.write.audio.variation import ALTERNATION
from cyclechart.write.webpage.schema import SoundData

STRING_SECONDS = 6.0
"""The length of a string's sound: it is plucked again after 4.6 s, later in a slower tempo."""
STRING_FADE = 1.5
"""Seconds of the fade at its end."""
STRING_BITS = 12
"""Of each sample of a string: what is lost lies 50 dB below it as it begins, and four ring."""
TOUCHES = 2
"""Plucks that are rendered of each string, so that rounds differ."""
SPREAD = 20
"""A stroke whose velocities lie further apart is rendered soft and hard: beyond that the colour
differs, not only the level."""
HALF_FROM = 10_000.0
"""Hz: a sound with less than ``INAUDIBLE`` of its energy above this has half the rate."""
INAUDIBLE = 1e-6
OFTEN = 30
"""A stroke that a part has so often at one velocity is rendered in two variants."""
CYMBALS = frozenset({kit.OPEN_HAT, kit.CRASH, kit.RIDE, kit.BELL})
CYMBAL_END = 1e-3
"""The part of its peak (60 dB down) at which a cymbal ends on the page."""
CYMBAL_FADE = RATE // 20


def struck_velocities(part: PartEvents) -> dict[str | int, tuple[int, ...]]:
    """Return the velocities at which each sound of a part is rendered.

    Each has one, or a soft and a hard one: the most frequent of its strokes. Cymbals have one.
    """
    counts: dict[str | int, Counter[int]] = {}
    for stroke in part.strokes:
        counts.setdefault(stroke.sound, Counter())[stroke.velocity] += 1
    return {
        sound: (_commonest(found),) if sound in CYMBALS else tuple(_chosen(found))
        for sound, found in counts.items()
    }


def _commonest(counts: Counter[int]) -> int:
    return max(counts, key=lambda velocity: (counts[velocity], velocity))


def _chosen(counts: Counter[int]) -> Iterator[int]:
    low, high = min(counts), max(counts)
    middle = (low + high) / 2 if high - low > SPREAD else high
    for group in ([v for v in counts if v <= middle], [v for v in counts if v > middle]):
        if group:
            yield max(group, key=lambda velocity: (counts[velocity], velocity))


def variants_rendered(part: PartEvents, sound: str | int, velocity: int) -> int:
    """Return the number of variants in which a stroke is rendered: two if it is struck often.

    Cymbals have one: they ring into each other, so that no two of their strokes sound alike.
    """
    if sound in CYMBALS or not any(stroke.variant for stroke in part.strokes):
        return 1
    struck = sum(stroke.sound == sound and stroke.velocity == velocity for stroke in part.strokes)
    return len(ALTERNATION) if struck >= OFTEN else 1


def nearest_velocity(velocities: Sequence[int], velocity: int) -> int:
    """Return the rendered velocity nearest to that of a stroke; of two the softer."""
    return min(velocities, key=lambda rendered: (abs(rendered - velocity), rendered))


def stroke_sound(part: PartEvents, sound: str | int, velocity: int, variant: int = 0) -> SoundData:
    """Return a rendered stroke of a part's hand drum, or of the kit or the counting hands."""
    by_hand = isinstance(sound, str)
    flac = (
        _hand_drum_flac(part.voice, sound, velocity, part.hz, variant)
        if by_hand
        else _kit_flac(sound, velocity, variant)
    )
    return {"flac": flac, "cents": None, "velocity": velocity}


def string_sound(hz: float, cents: float, velocity: int, touch: int = 0) -> SoundData:
    """Return a rendered string of the drone, plucked once; ``touch``: 0 to ``TOUCHES`` - 1."""
    return {"flac": _string_flac(hz, velocity, touch), "cents": cents, "velocity": velocity}


@lru_cache(maxsize=256)
def _hand_drum_flac(drum: str, sound: str, velocity: int, hz: float, variant: int) -> str:
    return _mono_flac(drums.stroke(drum, sound, velocity, hz, variant))


@lru_cache(maxsize=256)
def _kit_flac(key: int, velocity: int, variant: int) -> str:
    wave = kit.hit(key, velocity, variant)
    return _flac(_rounded(wave), RATE) if key in CYMBALS else _mono_flac(wave)


@lru_cache(maxsize=64)
def _string_flac(hz: float, velocity: int, touch: int) -> str:
    wave = strings.pluck(hz, round(STRING_SECONDS * RATE), velocity, touch=touch)
    length = round(STRING_FADE * RATE)
    wave[-length:] *= 0.5 + 0.5 * np.cos(np.pi * np.arange(1, length + 1) / length)
    return _mono_flac(wave, STRING_BITS)


@lru_cache(maxsize=1)
def room_sound() -> str:
    """Return the impulse response of the room as stereo FLAC; it needs no scaling."""
    return _flac(response(), RATE)


def _rounded(wave: Wave) -> Wave:
    """Return a cymbal without the last of its ring and in 14 bits: noise is long to store."""
    loud = np.flatnonzero(np.abs(wave) > np.abs(wave).max() * CYMBAL_END)
    end = min(int(loud[-1]) + CYMBAL_FADE, len(wave))
    short = wave[:end] * np.minimum(1, np.arange(end, 0, -1) / CYMBAL_FADE)
    return np.asarray(np.round(short * 2**13) / 2**13, np.float32)


def _mono_flac(wave: Wave, bits: int = 16) -> str:
    """Return a mono sound as FLAC, at half the rate where nothing is lost.

    With fewer ``bits`` the last ones of each sample are zero, and take no room.
    """
    half = -(-len(wave) // 2)
    spectrum = np.fft.rfft(wave.astype(np.float64), 2 * half)
    power = np.abs(spectrum) ** 2
    above = int(HALF_FROM / RATE * 2 * half)
    if power[above:].sum() > INAUDIBLE * power.sum():
        return _flac(_in_bits(wave, bits), RATE)
    # A sound begins and ends in silence, so it may be resampled as if it were periodic.
    halved: Floats = np.fft.irfft(spectrum[: half // 2 + 1], half) / 2
    return _flac(_in_bits(halved, bits), RATE // 2)


def _in_bits(samples: NDArray[np.floating], bits: int) -> NDArray[np.floating]:
    """Return samples rounded to so many bits."""
    scale = 2.0 ** (bits - 1)
    return np.round(samples * scale) / scale if bits < 16 else samples


def _flac(samples: NDArray[np.floating], rate: int) -> str:
    """Return samples as FLAC of 16 bits in base64.

    Their shape is (frames,) or (frames, channels), full scale ±1.
    """
    import soundfile

    stream = io.BytesIO()
    soundfile.write(stream, samples, rate, format="FLAC", subtype="PCM_16", compression_level=1.0)
    return b64encode(stream.getvalue()).decode()
