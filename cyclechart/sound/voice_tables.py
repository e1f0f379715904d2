"""The melody voices: the spectrum of each, and its level and brightness over time.

The values are in ``voice_tables.yaml``: plain data, for our own synthesiser and for any other that
builds a tone from a periodic wave.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

import yaml

from cyclechart.sound.spectra import Zone, zones

REFERENCE_HZ = 261.63
"""Middle C: the pitch at which ``Voice.fade`` is given."""


@dataclass(frozen=True, slots=True)
class Noise:
    """Noise between two frequencies (Hz), its levels as RMS beside a tone of RMS 1.

    ``breath`` sounds with the tone; ``burst``, of the stroke, scrape or tongue, sounds at the
    beginning and falls to 1/e in ``burst_seconds``.
    """

    low: float
    high: float
    breath: float
    burst: float
    burst_seconds: float


@dataclass(frozen=True, slots=True)
class Tremor:
    """A slow swell of level and brightness, never of pitch: ``depth`` dB either side.

    It begins after ``delay`` seconds and reaches its full depth after twice that.
    """

    rate: float
    depth: float
    delay: float


STILL = Tremor(rate=0.0, depth=0.0, delay=0.0)


@dataclass(frozen=True, slots=True)
class Drift:
    """Slow random change, as RMS: ``level`` in dB, ``bright`` of brightness, ``partials`` of the
    amplitude of each partial, apart from the others; all at about ``rate`` Hz. Never of pitch.
    """

    level: float
    bright: float
    partials: float
    rate: float


STEADY = Drift(level=0.0, bright=0.0, partials=0.0, rate=1.0)


@dataclass(frozen=True, slots=True, eq=False)
class Voice:
    """One voice. Times in seconds; brightness from 0 to 1.

    Level: rises in ``attack`` as a quarter of a sine, falls towards ``sustain`` by 1/e each
    ``decay``, all the while by ``fade`` dB a second (at middle C; elsewhere times (hz/262) to the
    power ``fade_by_pitch``), and after the note's end as half a cosine in ``release``.

    Brightness: ``soft`` at velocity 1, ``loud`` at 127, in between evenly; of it the part
    ``keeps`` remains while the rest falls by 1/e each ``dulls``; ``bloom`` is the part of it that
    is missing where attack and release have the level at 0.

    ``gain`` brings the voices to about one loudness. No voice has vibrato: held notes are there
    to tune to. Compared and hashed by identity, so that caches need not hash the tables.
    """

    zones: tuple[Zone, ...]
    attack: float
    decay: float
    sustain: float
    release: float
    soft: float
    loud: float
    noise: Noise
    gain: float
    bloom: float = 0.0
    fade: float = 0.0
    fade_by_pitch: float = 0.0
    keeps: float = 1.0
    dulls: float = 1.0
    tremor: Tremor = STILL
    drift: Drift = STEADY


@lru_cache(maxsize=1)
def _tables() -> Mapping[str, Mapping[str, Any]]:
    text = files("cyclechart.sound").joinpath("voice_tables.yaml").read_text("utf-8")
    tables: Mapping[str, Mapping[str, Any]] = yaml.load(
        text, getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    )
    return tables


def voice_names() -> tuple[str, ...]:
    """Return the names of all voices."""
    return tuple(_tables())


@cache
def named_voice(name: str) -> Voice:
    """Return a voice: the same object each time.

    Raises:
        ValueError: There is no such voice.
    """
    if name not in _tables():
        raise ValueError(f"no voice {name!r}; there are {', '.join(voice_names())}")
    table = dict(_tables()[name])
    table["zones"] = zones(name, **table["zones"])
    table["noise"] = Noise(**table["noise"])
    if "tremor" in table:
        table["tremor"] = Tremor(**table["tremor"])
    if "drift" in table:
        table["drift"] = Drift(**table["drift"])
    return Voice(**table)
