"""The harmonic tables: what each voice's tone is made of, and how it begins, moves and ends.

Plain data, worked out once from a few rules, for our own synthesiser and for any other that builds
a tone from a periodic wave. Levels, times and corner frequencies are our own choosing, set by
looking at spectra; where one is published its source stands beside it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

LEVELS = 4
"""Brightness levels in a zone's table, evenly from 0 (soft, or long after a stroke) to 1 (loud)."""

MOST_PARTIALS = 96
HIGHEST_HZ = 16_000.0
"""Partials above this are left out: few hear them."""
SILENT_DB = -72.0
"""Partials so far below the strongest, at every level, are cut off a table's end."""

REFERENCE_HZ = 261.63
"""Middle C: the pitch at which ``Voice.fade`` is given."""


@dataclass(frozen=True, slots=True)
class Zone:
    """The tone near one pitch: ``levels`` are amplitudes of sines, partial 1 first.

    A negative one is a sine turned over (``sign``).

    Each level is scaled to an RMS of 1 (the squares add up to 2), so that brightness alone does not
    change the power. All levels of a zone have the same number of partials.
    """

    hz: float
    levels: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class Noise:
    """Noise between two frequencies (Hz), its levels as RMS beside a tone of RMS 1.

    ``breath`` sounds with the tone; ``burst`` is the stroke's, scrape's or tongue's, at the
    beginning, and falls to 1/e of itself in ``burst_seconds``.
    """

    low: float
    high: float
    breath: float
    burst: float
    burst_seconds: float


@dataclass(frozen=True, slots=True)
class Tremor:
    """A slow swell of level and brightness, never of pitch: ``depth`` dB either side.

    Begins after ``delay`` seconds and is whole after twice that.
    """

    rate: float
    depth: float
    delay: float


STILL = Tremor(rate=0.0, depth=0.0, delay=0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Voice:
    """One voice. Times in seconds; brightness from 0 to 1.

    Level: rises in ``attack`` as a quarter of a sine, falls towards ``sustain`` by 1/e each
    ``decay``, all the while by ``fade`` dB a second (at middle C; elsewhere times (hz/262) to the
    power ``fade_by_pitch``), and after the note's end as half a cosine in ``release``.

    Brightness: ``soft`` at velocity 1, ``loud`` at 127, in between evenly; of it the part
    ``keeps`` remains while the rest falls by 1/e each ``dulls``; ``bloom`` is how much of it is
    missing where attack and release have the level at 0.

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


Rule = Callable[[int, float, float], float]
"""The level in dB of (partial from 1, hz of partial 1, brightness)."""


def _between(low: float, high: float, part: float) -> float:
    """Evenly in octaves from ``low`` to ``high``."""
    return low * math.pow(high / low, part)


def _falls(hz: float, corner: float, slope: float) -> float:
    """0 dB well below the corner, ``slope`` dB an octave down well above it."""
    return -10 * math.log10(1 + math.pow(hz / corner, slope / (10 * math.log10(2))))


def _bump(hz: float, centre: float, height: float, octaves: float) -> float:
    """A resonance: ``height`` dB at its centre, falling as a bell over so many octaves."""
    return height * math.exp(-((math.log2(hz / centre) / octaves) ** 2) / 2)


def _pluck(partial: int, place: float, floor: float) -> float:
    """A string set off at one place lacks the partials that rest there.

    Young, 1800 (dB; ``floor``: a finger has width, a string two directions).
    """
    return 20 * math.log10(max(floor, abs(math.sin(math.pi * partial * place))))


def _flute(n: int, hz: float, bright: float) -> float:
    """Few partials, the fewer the higher and the softer."""
    step = (16 - 9 * bright) * math.pow(hz / 440, 0.35)
    return -step * (n - 1) + (4 * bright if n == 2 else 0) + _falls(n * hz, 4000, 12)


def _reed(n: int, hz: float, bright: float) -> float:
    """Strong up to the open holes' cutoff near 1.5 kHz, then falling.

    Benade, Fundamentals of Musical Acoustics, 1976.
    """
    f = n * hz
    tone = -3 * math.log2(n) + _falls(f, _between(1000, 2400, bright), 16)
    nasal = _bump(f, 1100, 4, 0.4) + _bump(f, 2900, 3 + 4 * bright, 0.35)
    return tone + nasal - (2 if n == 1 else 0)


def _brass(n: int, hz: float, bright: float) -> float:
    """Low partials nearly even, and the louder the more of them.

    Risset and Mathews, Physics Today 22, 1969.
    """
    f = n * hz
    return -1.5 * math.log2(n) + _falls(f, _between(420, 2100, bright), 13) + _bump(f, 1200, 3, 0.5)


def _bowed(n: int, hz: float, bright: float) -> float:
    """A saw (Helmholtz, 1863) through a body.

    Air and wood near 280 and 480 Hz, the bridge's hill near 2.5 kHz (Jansson, Acustica 83, 1997),
    all gentler than measured so that no note sticks out.
    """
    f = n * hz
    body = _bump(f, 280, 3, 0.2) + _bump(f, 480, 3, 0.25) + _bump(f, 2500, 5, 0.45)
    return -(7.5 - 1.5 * bright) * math.log2(n) + body + _falls(f, _between(2200, 5500, bright), 12)


def _lute(n: int, hz: float, bright: float) -> float:
    """Plucked near an eighth, with a band that sinks as the tone dies, as of a curved bridge.

    Van Walstijn and others, ISMA 2014.
    """
    f = n * hz
    tone = _pluck(n, 0.123, 0.12) - 4.5 * math.log2(n)
    band = 4 * math.exp(-((math.log(f / (900 + 3600 * bright)) / 0.38) ** 2) / 2)
    return tone + band + _falls(f, _between(450, 5000, bright), 11)


def _struck(n: int, hz: float, bright: float) -> float:
    """A hammer at an eighth, its felt the softer the slower; towards the top nearly a sine."""
    corner = _between(330, 2800, bright) * math.pow(hz / 262, 0.35)
    return _pluck(n, 0.125, 0.15) - 3.5 * math.log2(n) + _falls(n * hz, corner, 12)


def _organ(n: int, hz: float, bright: float) -> float:
    """Free reeds, one an octave above: even partials stronger."""
    f = n * hz
    octave = 2.5 if n % 2 == 0 else 0.0
    box = _bump(f, 750, 3, 0.5) + _bump(f, 2300, 3, 0.5)
    return -5 * math.log2(n) + octave + box + _falls(f, _between(1800, 5000, bright), 13)


_FORMANTS = ((730.0, 850.0, 80.0), (1090.0, 1220.0, 90.0), (2440.0, 2810.0, 130.0))
"""The vowel of "hod": Hz of men, of women (Peterson and Barney, JASA 24, 1952); width ours."""
_UPPER_FORMANTS = ((3400.0, 3900.0, 220.0), (4400.0, 4900.0, 300.0))


def _vowel(n: int, hz: float, bright: float) -> float:
    """A sung "a": men's formants up to 130 Hz, women's from 300 Hz on.

    Where the note lies above the first formant, that goes with it (Sundberg, STL-QPSR 1975).
    """
    f = n * hz
    sex = min(1.0, max(0.0, math.log(hz / 130) / math.log(300 / 130)))
    level = -(9.5 - 3.5 * bright) * math.log2(n)
    for number, (men, women, width) in enumerate(_FORMANTS + _UPPER_FORMANTS):
        centre = men + (women - men) * sex
        if number == 0:
            centre = max(centre, hz)
        # Wider for higher notes, whose few partials would jump in and out of narrow ones.
        wide = width + 0.35 * hz
        level -= 10 * math.log10((1 - (f / centre) ** 2) ** 2 + (f * wide / centre**2) ** 2)
    return level


def _bass(n: int, hz: float, bright: float) -> float:
    """A thick string plucked by a finger near a fifth of its length."""
    corner = _between(170, 1500, bright)
    return _pluck(n, 0.19, 0.15) - 3 * math.log2(n) + _falls(n * hz, corner, 12)


def _zones(rule: Rule, lowest: float, highest: float, semitones: int) -> tuple[Zone, ...]:
    """Tables from one pitch to another, ``semitones`` apart; an octave where nothing is fixed."""
    count = math.ceil(12 * math.log2(highest / lowest) / semitones) + 1
    return tuple(_zone(rule, lowest * 2 ** (semitones * i / 12)) for i in range(count))


def _zone(rule: Rule, hz: float) -> Zone:
    partials = range(1, max(1, min(MOST_PARTIALS, int(HIGHEST_HZ / hz))) + 1)
    table = [[rule(n, hz, level / (LEVELS - 1)) for n in partials] for level in range(LEVELS)]
    heard = [row_db - max(row) > SILENT_DB for row in table for row_db in row]
    kept = max(at % len(partials) for at, yes in enumerate(heard) if yes) + 1
    return Zone(round(hz, 3), tuple(_scaled(row[:kept]) for row in table))


def _scaled(row: Sequence[float]) -> tuple[float, ...]:
    """Amplitudes of RMS 1 from dB; rounded, so that they are the same wherever they are made."""
    amplitudes = [10 ** (db / 20) for db in row]
    power = math.fsum(a * a for a in amplitudes)
    scale = math.sqrt(2 / power)
    # Plus 0.0: no -0.0 in the data.
    return tuple(round(sign(n) * a * scale, 4) + 0.0 for n, a in enumerate(amplitudes, 1))


def sign(partial: int) -> int:
    """1 or -1: which partials are turned over, so that they do not all peak at once.

    The Rudin-Shapiro sequence (Rudin, Proc. AMS 10, 1959): no tone here peaks at over three times
    its RMS, where sines all alike reach eight times.
    """
    at = partial - 1
    return -1 if (at & (at >> 1)).bit_count() % 2 else 1


VOICES: dict[str, Voice] = {
    "flute": Voice(
        _zones(_flute, 220, 2637, 6),
        attack=0.030,
        decay=0.15,
        sustain=0.88,
        release=0.070,
        soft=0.15,
        loud=0.95,
        bloom=0.5,
        noise=Noise(1500, 6000, breath=0.014, burst=0.13, burst_seconds=0.022),
        tremor=Tremor(4.7, 0.5, 0.35),
        gain=1.08,
    ),
    "reed": Voice(
        _zones(_reed, 65.41, 1760, 4),
        attack=0.018,
        decay=0.08,
        sustain=0.85,
        release=0.060,
        soft=0.1,
        loud=1.0,
        bloom=0.5,
        noise=Noise(1000, 5000, breath=0.004, burst=0.06, burst_seconds=0.008),
        gain=1.1,
    ),
    "brass": Voice(
        _zones(_brass, 36.71, 1245, 6),
        attack=0.032,
        decay=0.10,
        sustain=0.85,
        release=0.080,
        soft=0.05,
        loud=1.0,
        keeps=0.85,
        dulls=0.12,
        bloom=0.8,
        noise=Noise(400, 2500, breath=0.003, burst=0.05, burst_seconds=0.012),
        gain=1.1,
    ),
    "bowed": Voice(
        _zones(_bowed, 41.2, 2794, 4),
        attack=0.045,
        decay=0.25,
        sustain=0.9,
        release=0.110,
        soft=0.2,
        loud=0.95,
        bloom=0.4,
        noise=Noise(900, 5000, breath=0.008, burst=0.07, burst_seconds=0.035),
        tremor=Tremor(5.1, 0.5, 0.4),
        gain=1.08,
    ),
    "lute": Voice(
        _zones(_lute, 65.41, 1319, 6),
        attack=0.0015,
        decay=0.12,
        sustain=0.6,
        fade=9.0,
        fade_by_pitch=0.6,
        release=0.090,
        soft=0.35,
        loud=1.0,
        keeps=0.3,
        dulls=0.9,
        noise=Noise(1800, 6500, breath=0.0, burst=0.20, burst_seconds=0.004),
        gain=1.8,
    ),
    "struck": Voice(
        _zones(_struck, 27.5, 4186, 6),
        attack=0.0025,
        decay=0.35,
        sustain=0.45,
        fade=7.0,
        fade_by_pitch=0.65,
        release=0.130,
        soft=0.1,
        loud=1.0,
        keeps=0.45,
        dulls=0.7,
        noise=Noise(150, 1200, breath=0.0, burst=0.10, burst_seconds=0.012),
        gain=1.6,
    ),
    "organ": Voice(
        _zones(_organ, 32.7, 2093, 6),
        attack=0.020,
        decay=0.10,
        sustain=0.95,
        release=0.070,
        soft=0.4,
        loud=0.8,
        bloom=0.5,
        noise=Noise(300, 3000, breath=0.004, burst=0.03, burst_seconds=0.010),
        gain=1.04,
    ),
    "vowel": Voice(
        _zones(_vowel, 82.41, 1047, 3),
        attack=0.035,
        decay=0.20,
        sustain=0.9,
        release=0.100,
        soft=0.1,
        loud=0.9,
        bloom=0.5,
        noise=Noise(700, 4500, breath=0.008, burst=0.05, burst_seconds=0.025),
        tremor=Tremor(5.3, 0.4, 0.4),
        gain=1.08,
    ),
    "bass": Voice(
        _zones(_bass, 30.87, 392, 6),
        attack=0.003,
        decay=0.15,
        sustain=0.65,
        fade=11.0,
        fade_by_pitch=0.5,
        release=0.080,
        soft=0.25,
        loud=1.0,
        keeps=0.4,
        dulls=0.5,
        noise=Noise(300, 2200, breath=0.0, burst=0.10, burst_seconds=0.007),
        gain=1.45,
    ),
}
"""Each voice by its name."""
