"""The spectra of the voices: a rule for each, and the tables of amplitudes that follow from it.

The tables are the same on every machine. Levels and corner frequencies were set by looking at
spectra; where one is published its source stands beside it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cyclechart.sound.bar_spectra import BAR_RULES
from cyclechart.sound.spectrum_shapes import Rule, between, low_pass, resonance
from cyclechart.sound.string_spectra import STRING_RULES

LEVELS = 4
"""The brightness levels in a zone, evenly from 0 (soft, or long after a stroke) to 1 (loud)."""

MOST_PARTIALS = 96
HIGHEST_HZ = 16_000.0
"""Partials above this are left out: few listeners hear them."""
SILENT_DB = -72.0
"""dB below the strongest partial: the end of a table that is softer at every level is cut off."""


@dataclass(frozen=True, slots=True)
class Zone:
    """The tone near one pitch: ``levels`` are amplitudes of sines, partial 1 first.

    A negative one is an inverted sine (``partial_sign``).

    Each level is scaled to an RMS of 1 (the squares add up to 2), so that brightness alone does not
    change the power. All levels of a zone have the same number of partials.
    """

    hz: float
    levels: tuple[tuple[float, ...], ...]


def _flute(n: int, hz: float, bright: float) -> float:
    """Return a flute's level in dB: few partials, fewer in high and soft notes."""
    step = (16 - 9 * bright) * math.pow(hz / 440, 0.35)
    return -step * (n - 1) + (4 * bright if n == 2 else 0) + low_pass(n * hz, 4000, 12)


def _reed(n: int, hz: float, bright: float) -> float:
    """Return a reed's level in dB: strong up to the cutoff of the open holes near 1.5 kHz.

    Benade, Fundamentals of Musical Acoustics, 1976.
    """
    f = n * hz
    tone = -3 * math.log2(n) + low_pass(f, between(1000, 2400, bright), 16)
    nasal = resonance(f, 1100, 4, 0.4) + resonance(f, 2900, 3 + 4 * bright, 0.35)
    return tone + nasal - (2 if n == 1 else 0)


def _clarinet(n: int, hz: float, bright: float) -> float:
    """Return a clarinet's level in dB: a pipe closed at the reed, with few even partials in low
    notes and up to the cutoff of its holes (Benade, as above)."""
    f = n * hz
    even = -16 * min(1.0, max(0.0, math.log2(1600 / f))) if n % 2 == 0 else 0.0
    return even - 3 * math.log2(n) + low_pass(f, between(900, 2200, bright), 15)


def _brass(n: int, hz: float, bright: float) -> float:
    """Return a brass level in dB: low partials nearly even, more of them in loud notes.

    Risset and Mathews, Physics Today 22, 1969.
    """
    f = n * hz
    return (
        -1.5 * math.log2(n)
        + low_pass(f, between(420, 2100, bright), 13)
        + resonance(f, 1200, 3, 0.5)
    )


def _bowed(n: int, hz: float, bright: float) -> float:
    """Return a bowed string's level in dB: a saw (Helmholtz, 1863) through a body.

    Air and wood near 280 and 480 Hz, the bridge's hill near 2.5 kHz (Jansson, Acustica 83, 1997),
    all gentler than measured so that no note sticks out.
    """
    f = n * hz
    body = resonance(f, 280, 3, 0.2) + resonance(f, 480, 3, 0.25) + resonance(f, 2500, 5, 0.45)
    return (
        -(7.5 - 1.5 * bright) * math.log2(n) + body + low_pass(f, between(2200, 5500, bright), 12)
    )


def _organ(n: int, hz: float, bright: float) -> float:
    """Return an organ's level in dB: free reeds, one an octave above: even partials stronger."""
    f = n * hz
    octave = 2.5 if n % 2 == 0 else 0.0
    box = resonance(f, 750, 3, 0.5) + resonance(f, 2300, 3, 0.5)
    return -5 * math.log2(n) + octave + box + low_pass(f, between(1800, 5000, bright), 13)


_FORMANTS = ((730.0, 850.0, 80.0), (1090.0, 1220.0, 90.0), (2440.0, 2810.0, 130.0))
"""The vowel of "hod": Hz of men, of women (Peterson and Barney, JASA 24, 1952); width ours."""
_UPPER_FORMANTS = ((3400.0, 3900.0, 220.0), (4400.0, 4900.0, 300.0))


def _vowel(n: int, hz: float, bright: float) -> float:
    """Return the level in dB of a sung "a": men's formants up to 130 Hz, women's from 300 Hz on.

    Where the note lies above the first formant, the formant moves up with it (Sundberg,
    STL-QPSR 1975).
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


RULES: dict[str, Rule] = {
    "flute": _flute,
    "reed": _reed,
    "clarinet": _clarinet,
    "brass": _brass,
    "bowed": _bowed,
    "organ": _organ,
    "vowel": _vowel,
    **STRING_RULES,
    **BAR_RULES,
}


def zones(voice: str, lowest: float, highest: float, semitones: int) -> tuple[Zone, ...]:
    """Return a voice's tables from one pitch to another (Hz), so many semitones apart."""
    count = math.ceil(12 * math.log2(highest / lowest) / semitones) + 1
    return tuple(_zone(RULES[voice], lowest * 2 ** (semitones * i / 12)) for i in range(count))


def _zone(rule: Rule, hz: float) -> Zone:
    """Return the table of one pitch, without the inaudible partials at its end."""
    partials = range(1, max(1, min(MOST_PARTIALS, int(HIGHEST_HZ / hz))) + 1)
    table = [[rule(n, hz, level / (LEVELS - 1)) for n in partials] for level in range(LEVELS)]
    audible = [row_db - max(row) > SILENT_DB for row in table for row_db in row]
    count = max(at % len(partials) for at, is_audible in enumerate(audible) if is_audible) + 1
    return Zone(round(hz, 3), tuple(_scaled(row[:count]) for row in table))


def _scaled(row: Sequence[float]) -> tuple[float, ...]:
    """Return amplitudes of RMS 1 for levels in dB, rounded to be the same on every machine."""
    amplitudes = [10 ** (db / 20) for db in row]
    power = math.fsum(a * a for a in amplitudes)
    scale = math.sqrt(2 / power)
    # Plus 0.0: no -0.0 in the data.
    return tuple(round(partial_sign(n) * a * scale, 4) + 0.0 for n, a in enumerate(amplitudes, 1))


def partial_sign(partial: int) -> int:
    """Return 1, or -1 for an inverted partial, so that they do not all peak at once.

    The Rudin-Shapiro sequence (Rudin, Proc. AMS 10, 1959): no tone here peaks at over three times
    its RMS, where sines all alike reach eight times.
    """
    at = partial - 1
    return -1 if (at & (at >> 1)).bit_count() % 2 else 1
