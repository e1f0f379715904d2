"""The spectra of bars and tines that are struck: levels of partials in dB.

Makers tune the second and third mode of a bar to whole multiples of the first, so that a table of
harmonics sounds them exactly: 1:4:10 on a marimba, 1:4 on a vibraphone, whose third mode lies near
ten times (Fletcher and Rossing, The Physics of Musical Instruments, chapter 19).
"""

from __future__ import annotations

import math

from cyclechart.sound.spectrum_shapes import Rule, low_pass

NONE = -200.0
"""dB: no such mode."""


def _marimba(n: int, hz: float, bright: float) -> float:
    """Return a marimba's level in dB: a tube strengthens the first mode, a yarn mallet the low
    ones."""
    level = {1: 0.0, 4: -30 + 24 * bright, 10: -46 + 28 * bright}.get(n, NONE)
    return level + low_pass(n * hz, 2600, 10) - low_pass(hz, 2600, 10)


def _vibraphone(n: int, hz: float, bright: float) -> float:
    """Return a vibraphone's level in dB: aluminium, whose second mode two octaves up rings on."""
    level = {1: 0.0, 4: -26 + 18 * bright, 10: -48 + 24 * bright}.get(n, NONE)
    return level + low_pass(n * hz, 4200, 8) - low_pass(hz, 4200, 8)


def _tine(n: int, hz: float, bright: float) -> float:
    """Return the level in dB of an electric piano's tine: a magnet off its middle adds the octave
    the more, the harder it is struck; the tine's second mode is a bell near six times."""
    corner = 500 + 1800 * bright
    body = (
        -(15 - 8 * bright) * math.log2(n) + low_pass(n * hz, corner, 14) - low_pass(hz, corner, 14)
    )
    bell = -34 + 22 * bright if n == 6 else NONE
    return max(body, bell + low_pass(n * hz, 3500, 12) - low_pass(hz, 3500, 12))


BAR_RULES: dict[str, Rule] = {"marimba": _marimba, "vibraphone": _vibraphone, "tine": _tine}
