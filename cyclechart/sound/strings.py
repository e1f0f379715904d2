"""A drone string over a curved bridge, summed from its partials.

The bridge turns the low partials' energy into a bright band that falls slowly while the string
rings (van Walstijn and others, ISMA 2014, DAFx-16 and DAFx-17). It excites even the partials that
the place of the pluck would silence on a plain string (C. V. Raman, "On some Indian stringed
instruments", Proc. Indian Assoc. Cultiv. Sci. 7, 1921). Strengths and times are our choice.
"""

from __future__ import annotations

import numpy as np

from cyclechart.sound.rate import RATE, Wave
from cyclechart.sound.resonance import HOP, Floats, force, velocity_gain

LOWEST, HIGHEST = 20.0, 4000.0
"""The pitches a string can have, in Hz."""

TOP = 9000.0
"""The highest frequency of a partial, in Hz."""
PARTIALS = 96
"""The most partials: from a string of 60 Hz on they reach the beginning of the band."""

PLACE, SILENCED = 0.53, 0.35
"""The place of the pluck along the string, and the part left of a partial with a node there."""
STEEP = 1.15
"""Before the bridge, partial n has at most the strength 1/n^STEEP."""

BAND_HZ, BAND_FALLS_HZ, BAND_FALL = 900.0, 4300.0, 1.7
"""Hz: the final place of the band, and the distance above at which it begins; seconds in which that
distance falls to 1/e."""
BAND_WIDTH = 0.38
"""Standard deviation of the band in ln f."""
BAND_GAIN, BAND_SLOPE = 4.0, 0.55
"""The bridge lifts partial n in the band by BAND_GAIN·n^BAND_SLOPE in the hardest pluck: the energy
comes from the low partials, so the band is less steep than the string."""

ATTACK = 0.009
"""Seconds of the attack: the flesh of the finger lets the string go softly."""
FADE = 0.03
"""Seconds of the optional fade at the end."""

STRETCH = 0.02
"""Radians: partial n begins n² of these late. The pulse that runs along the string is
spread as by stiffness, which also keeps the peaks of the sum down."""
LOUD = 0.19
"""The root mean square of the hardest pluck's beginning, so that its peak stays below 1."""


def string_hz(hz: float) -> float:
    """Return the frequency of a drone's string, in octaves above ``hz`` where no string is so low.

    The octave of a player may be lower than that.
    """
    while hz < LOWEST:
        hz *= 2
    return hz


def pluck(hz: float, frames: int, velocity: int, at: int = 0, fade: bool = False) -> Wave:
    """Return a string plucked at the absolute frame ``at``; shape (frames,).

    Partial n is a sine of n·hz that has run since frame 0, so that plucks at any frames lie
    coherently on each other and their sum stays in tune. The end is cut off, or faded over 30 ms
    with ``fade``. A harder pluck (``velocity`` 1 to 127) is louder and brighter.

    ValueError for a pitch outside 20 to 4000 Hz, a velocity outside 1 to 127, frames or a place
    below 0.
    """
    if not LOWEST <= hz <= HIGHEST:
        raise ValueError(f"A drone string's pitch is from 20 to 4000 Hz, not {hz:g}.")
    if frames < 0 or at < 0:
        raise ValueError("A pluck cannot begin before frame 0 or last less than no time.")
    hard = force(velocity)
    if frames == 0:
        return np.zeros(0, np.float32)
    number = np.arange(1.0, min(PARTIALS, max(1, int(TOP / hz))) + 1)
    blocks = -(-frames // HOP)
    seconds: Floats = np.arange(blocks + 1.0) * (HOP / RATE)
    strength = _strengths(number, hz, seconds, hard)
    strength *= LOUD * velocity_gain(velocity) / np.sqrt(np.sum(strength[0] ** 2) / 2)
    wave = _summed(number, hz, at, strength).reshape(-1)[:frames]
    length = min(frames, round(ATTACK * RATE))
    wave[:length] *= np.sin(np.pi / 2 * np.arange(length) / round(ATTACK * RATE)) ** 2
    if fade:
        length = min(frames, round(FADE * RATE))
        wave[frames - length :] *= np.cos(np.pi / 2 * np.arange(1, length + 1) / length) ** 2
        wave[-1] = 0.0
    return wave.astype(np.float32)


def _strengths(number: Floats, hz: float, seconds: Floats, hard: float) -> Floats:
    """Return the strength of each partial at each time: shape (times, partials)."""
    pitch = number * hz
    plucked = SILENCED + (1 - SILENCED) * np.abs(np.sin(PLACE * np.pi * number))
    # A soft pluck is rounder: its upper partials are weaker from the beginning.
    base = plucked / number ** (STEEP + 0.5 * (1 - hard))
    loss = 0.30 + 0.015 * number + 2.2 * (pitch / TOP) ** 2
    centre = BAND_HZ + BAND_FALLS_HZ * np.exp(-seconds / BAND_FALL)
    away = (np.log(pitch)[None, :] - np.log(centre)[:, None]) / BAND_WIDTH
    lifted = 1 + BAND_GAIN * hard * number**BAND_SLOPE * np.exp(-(away**2) / 2)
    strengths: Floats = base * np.exp(-np.outer(seconds, loss)) * lifted
    return strengths


def _summed(number: Floats, hz: float, at: int, strength: Floats) -> Floats:
    """Return the sum of the partials, shape (blocks, HOP), as one matrix product.

    In a block sin(w(hop·h + k)) = sin(w·hop·h)·cos(wk) + cos(w·hop·h)·sin(wk), and the strength
    goes from one block's to the next's in a straight line, which makes two such products.
    """
    blocks = len(strength) - 1
    # Whole turns are dropped before anything is multiplied by 2π, so that a pluck an hour on is
    # as exact as the first.
    turns = np.outer(at + np.arange(blocks) * float(HOP), number * (hz / RATE)) % 1.0
    angle = 2 * np.pi * turns - STRETCH * number**2
    sine, cosine = np.sin(angle), np.cos(angle)
    now, change = strength[:-1], np.diff(strength, axis=0)
    step = np.arange(HOP)
    inner = np.outer(number * (2 * np.pi * hz / RATE), step)
    ramp = step / HOP
    outer = np.hstack([now * sine, now * cosine, change * sine, change * cosine])
    within = np.vstack([np.cos(inner), np.sin(inner), np.cos(inner) * ramp, np.sin(inner) * ramp])
    total: Floats = outer @ within
    return total
