"""The spectra of strings that are plucked or struck: levels of partials in dB.

Where a source is named the places of nodes, bands and resonances follow it; how strong they are is
ours, set by looking at spectra.
"""

from __future__ import annotations

import math

from cyclechart.sound.spectrum_shapes import Rule, between, low_pass, pluck_level, resonance


def _lute(n: int, hz: float, bright: float) -> float:
    """Return a lute's level in dB: plucked near an eighth, with a band as of a curved bridge.

    The band sinks as the tone decays.

    Van Walstijn and others, ISMA 2014.
    """
    f = n * hz
    tone = pluck_level(n, 0.123, 0.12) - 4.5 * math.log2(n)
    band = 4 * math.exp(-((math.log(f / (900 + 3600 * bright)) / 0.38) ** 2) / 2)
    return tone + band + low_pass(f, between(450, 5000, bright), 11)


def _bridge_band(hz: float, centre: float, height: float) -> float:
    """Return the band of a flat, curved bridge, in dB: it sinks as the tone decays.

    Van Walstijn and others, ISMA 2014; Raman, Proc. Indian Assoc. Cultiv. Sci. 7, 1921.
    """
    return height * math.exp(-((math.log(hz / centre) / 0.38) ** 2) / 2)


def _sitar(n: int, hz: float, bright: float) -> float:
    """Return a sitar's level in dB: a wire plucks near a twelfth; the bridge has a strong band."""
    f = n * hz
    tone = pluck_level(n, 0.085, 0.3) - 3.5 * math.log2(n) - (4 if n == 1 else 0)
    band = _bridge_band(f, 900 + 3800 * bright, 9)
    return tone + band + low_pass(f, between(900, 6500, bright), 12)


def _veena(n: int, hz: float, bright: float) -> float:
    """Return a veena's level in dB: plucked near a seventh, a mild band of its bridge, a body of
    wood."""
    f = n * hz
    tone = pluck_level(n, 0.14, 0.15) - 4 * math.log2(n)
    # Above the partials of high notes, or it would make them duller.
    centre = (700 + 2600 * bright) * max(1.0, hz / 400)
    band = _bridge_band(f, centre, 5) + resonance(f, 220, 3, 0.4)
    return tone + band + low_pass(f, between(500, 3800, bright), 12)


def _sarod(n: int, hz: float, bright: float) -> float:
    """Return a sarod's level in dB: steel over a skin, whose resonances stand out; no such band."""
    f = n * hz
    tone = pluck_level(n, 0.11, 0.2) - 3.5 * math.log2(n)
    skin = resonance(f, 330, 4, 0.3) + resonance(f, 850, 4, 0.35) + resonance(f, 2100, 3, 0.3)
    return tone + skin + low_pass(f, between(700, 4200, bright), 14)


def _guitar(n: int, hz: float, bright: float) -> float:
    """Return a nylon guitar's level in dB: a finger near a fifth, air near 100 Hz and a top plate
    near 200 Hz.

    Fletcher and Rossing, The Physics of Musical Instruments, chapter 9.
    """
    f = n * hz
    tone = pluck_level(n, 0.19, 0.12) - 4 * math.log2(n)
    body = resonance(f, 100, 2, 0.25) + resonance(f, 200, 3, 0.25) + resonance(f, 410, 2, 0.3)
    return tone + body + low_pass(f, between(350, 3000, bright), 12)


def _steel(n: int, hz: float, bright: float) -> float:
    """Return the level in dB of steel strings with a plectrum near a ninth: bright at first."""
    f = n * hz
    tone = pluck_level(n, 0.11, 0.12) - 3.5 * math.log2(n)
    body = resonance(f, 230, 3, 0.3) + resonance(f, 2800, 3, 0.5)
    return tone + body + low_pass(f, between(600, 5500, bright), 11)


def _electric(n: int, hz: float, bright: float) -> float:
    """Return an electric guitar's level in dB: a plectrum near an eighth, heard by a magnet at a
    quarter of the string, its coil a low-pass near 3 kHz."""
    f = n * hz
    tone = pluck_level(n, 0.13, 0.15) + pluck_level(n, 0.24, 0.2) - 1.5 * math.log2(n)
    return tone + low_pass(f, between(700, 3000, bright), 14)


def _santoor(n: int, hz: float, bright: float) -> float:
    """Return a santoor's level in dB: light wooden hammers near a tenth of thin steel, as of the
    hammered dulcimer (Rossing, The Science of String Instruments, on hammered strings)."""
    f = n * hz
    corner = between(1100, 6500, bright)
    return pluck_level(n, 0.1, 0.25) - 3 * math.log2(n) + low_pass(f, corner, 10)


def _piano(n: int, hz: float, bright: float) -> float:
    """Return a piano's level in dB: a felt hammer at an eighth, soft in soft notes.

    Towards the top it is nearly a sine.
    """
    corner = between(330, 2800, bright) * math.pow(hz / 262, 0.35)
    return pluck_level(n, 0.125, 0.15) - 3.5 * math.log2(n) + low_pass(n * hz, corner, 12)


def _bass(n: int, hz: float, bright: float) -> float:
    """Return a bass level in dB: a thick string plucked by a finger near a fifth of its length."""
    corner = between(170, 1500, bright)
    return pluck_level(n, 0.19, 0.15) - 3 * math.log2(n) + low_pass(n * hz, corner, 12)


STRING_RULES: dict[str, Rule] = {
    "lute": _lute,
    "sitar": _sitar,
    "sarod": _sarod,
    "veena": _veena,
    "guitar": _guitar,
    "steel": _steel,
    "electric": _electric,
    "santoor": _santoor,
    "piano": _piano,
    "bass": _bass,
}
