"""A drone string over a curved bridge, summed from its partials.

The bridge takes the low partials' energy into a bright band that falls slowly while the string
rings, over a weak fundamental (van Walstijn and others, ISMA 2014, DAFx-16 and DAFx-17). It excites
even the partials that the place of the pluck would silence on a plain string (C. V. Raman, "On some
Indian stringed instruments", Proc. Indian Assoc. Cultiv. Sci. 7, 1921). The band is the bridge's
doing, far more than that of the pluck's force. Strengths and times are our choice.

The string moves in two planes, across the bridge and along it, which die away at two speeds and
beat slowly with each other. No two plucks are alike: what differs is seeded by their frame.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from cyclechart.sound.rate import RATE, Wave
from cyclechart.sound.resonance import HOP, Floats, force, velocity_gain

Complexes = NDArray[np.complex128]

LOWEST, HIGHEST = 20.0, 4000.0
"""The pitches a string can have, in Hz."""

TOP = 9000.0
"""The highest frequency of a partial, in Hz."""
PARTIALS = 120
"""The most partials: from a string of 60 Hz on they reach the beginning of the band."""

PLACE, SILENCED = 0.53, 0.35
"""The place of the pluck along the string, and the part left of a partial with a node there."""
STEEP = 0.9
"""Before the bridge, partial n has at most the strength 1/n^STEEP."""
TAKEN, TAKEN_FALL = 0.65, 1.5
"""The part of partial 1 that the bridge takes, and in how many partials that falls to 1/e."""

BAND_HZ, BAND_FALLS_HZ, BAND_FALL = 900.0, 4300.0, 1.7
"""Hz: the final place of the band, and the distance above at which it begins; seconds in which that
distance falls to 1/e."""
BAND_WIDTH = 0.38
"""Standard deviation of the band in ln f."""
BAND_GAIN, BAND_SLOPE = 2.2, 0.55
"""The bridge lifts partial n in the band by BAND_GAIN·n^BAND_SLOPE: the energy comes from the low
partials, so the band is less steep than the string."""
SOFTEST = 0.7
"""The part of that lift in the softest pluck: brightness goes with force only a little."""

STIFF = 4e-6
"""Inharmonicity B: partial n is at n·sqrt((1 + B·n²)/(1 + B)). Steel of 0.3 mm and 0.9 m has some
2e-5 (Fletcher and Rossing, The Physics of Musical Instruments, 2.18; the measures are from memory);
ours is less, for the bridge feeds whole multiples of the pitch."""
PLANES = 0.5
"""Cents between the string's two planes of movement."""
ALONG, ACROSS = 0.75, 1.3
"""The speed at which each plane dies away: along the bridge the string gives it less."""
ALONG_UP = 1 / 6
"""The part of those cents that the plane along the bridge is above the pitch: it has some five
times the energy of the other, so that both together are in tune."""
ANGLE = 0.55
"""Radians between the pluck and the bridge, which decide what each plane gets."""

APART = (0.0, -0.12, 0.12, 0.0)
"""Cents that each of the four strings is from its pitch. No hand tunes two strings to the same
hundredth: those of Sa beat, partial 1 once in half a minute or so, the band faster."""

ATTACK = 0.009
"""Seconds of the attack: the flesh of the finger lets the string go softly."""
FADE = 0.03
"""Seconds of the optional fade at the end."""

STRETCH = 0.055
"""Radians: partial n begins n² of these late. The pulse that runs along the string is
spread as by stiffness, which also keeps the peaks of the sum down."""
LOUD = 0.22
"""The root mean square of the hardest pluck's beginning, so that its peak stays below 1."""


def string_hz(hz: float) -> float:
    """Return the frequency of a drone's string, in octaves above ``hz`` where no string is so low.

    The octave of a player may be lower than that.
    """
    while hz < LOWEST:
        hz *= 2
    return hz


def tuned_string_hz(hz: float, string: int, frames: int | None = None) -> float:
    """Return the frequency of a string (0 to 3) that is meant for a pitch: a little beside it.

    With ``frames`` it is a whole number of periods in so many, for a drone that comes round without
    a seam: at most half a period more or less, for a string of Sa up to a whole one, so that the
    two keep apart.
    """
    apart = APART[string % len(APART)]
    tuned = hz * 2 ** (apart / 1200)
    if not frames:
        return tuned
    periods = tuned * frames / RATE
    whole = np.floor(periods) if apart < 0 else np.ceil(periods) if apart > 0 else round(periods)
    return float(max(whole, 1)) * RATE / frames


@dataclass(frozen=True)
class _Touch:
    """How one pluck differs from another: factors near 1, and an angle."""

    place: float
    start: float
    fall: float
    lift: float
    angle: float
    partials: Floats

    @classmethod
    def of(cls, seeds: tuple[int, ...], partials: int) -> Self:
        """Return the touch of a seed, the same each time."""
        draw = np.random.default_rng(seeds).uniform(-1, 1, 5 + PARTIALS)
        return cls(
            place=PLACE * (1 + 0.05 * draw[0]),
            start=1 + 0.12 * draw[1],
            fall=1 + 0.15 * draw[2],
            lift=1 + 0.2 * draw[3],
            angle=ANGLE + 0.25 * draw[4],
            partials=1 + 0.15 * draw[5 : 5 + partials],
        )


def pluck(
    hz: float, frames: int, velocity: int, at: int = 0, fade: bool = False, touch: int = 0
) -> Wave:
    """Return a string plucked at the absolute frame ``at``; shape (frames,).

    Partial n starts where a sine of n·hz would be that has run since frame 0, so that plucks at any
    frames lie coherently on each other and their sum stays in tune. The end is cut off, or faded
    over 30 ms with ``fade``. A harder pluck (``velocity`` 1 to 127) is louder, and a little
    brighter. Plucks of one frame differ by ``touch``.

    ValueError for a pitch outside 20 to 4000 Hz, a velocity outside 1 to 127, frames, a place or a
    touch below 0.
    """
    if not LOWEST <= hz <= HIGHEST:
        raise ValueError(f"A drone string's pitch is from 20 to 4000 Hz, not {hz:g}.")
    if frames < 0 or at < 0 or touch < 0:
        raise ValueError("A pluck cannot begin before frame 0 or last less than no time.")
    hard = force(velocity)
    if frames == 0:
        return np.zeros(0, np.float32)
    number = np.arange(1.0, min(PARTIALS, max(1, int(TOP / hz))) + 1)
    own = _Touch.of((at, touch, round(1000 * hz)), len(number))
    blocks = -(-frames // HOP)
    seconds: Floats = np.arange(blocks + 1.0) * (HOP / RATE)
    strength = _strengths(number, hz, seconds, hard, own)
    strength *= LOUD * velocity_gain(velocity) / np.sqrt(np.sum(np.abs(strength[0]) ** 2) / 2)
    wave = _summed(number, hz, at, strength).reshape(-1)[:frames]
    length = min(frames, round(ATTACK * RATE))
    wave[:length] *= np.sin(np.pi / 2 * np.arange(length) / round(ATTACK * RATE)) ** 2
    if fade:
        length = min(frames, round(FADE * RATE))
        wave[frames - length :] *= np.cos(np.pi / 2 * np.arange(1, length + 1) / length) ** 2
        wave[-1] = 0.0
    return wave.astype(np.float32)


def _strengths(number: Floats, hz: float, seconds: Floats, hard: float, own: _Touch) -> Complexes:
    """Return the strength and phase of each partial at each time: shape (times, partials)."""
    pitch = number * hz
    plucked = SILENCED + (1 - SILENCED) * np.abs(np.sin(own.place * np.pi * number))
    taken = 1 - TAKEN * np.exp((1 - number) / TAKEN_FALL)
    base = plucked * taken * own.partials / number**STEEP
    centre = BAND_HZ + BAND_FALLS_HZ * own.start * np.exp(-seconds / (BAND_FALL * own.fall))
    away = (np.log(pitch)[None, :] - np.log(centre)[:, None]) / BAND_WIDTH
    lift = BAND_GAIN * own.lift * (SOFTEST + (1 - SOFTEST) * hard)
    lifted = base * (1 + lift * number**BAND_SLOPE * np.exp(-(away**2) / 2))
    strengths: Complexes = lifted * _planes(number, hz, len(seconds), own)
    return strengths


def _planes(number: Floats, hz: float, times: int, own: _Touch) -> Complexes:
    """Return how the partials of both planes together die away: shape (times, partials)."""
    loss = 0.30 + 0.015 * number + 2.2 * (number * hz / TOP) ** 2
    turn = 2 * np.pi * number * hz * (2 ** (PLANES / 1200) - 1)
    total = np.zeros((times, len(number)), complex)
    for part, rate in (
        (np.cos(own.angle), -ALONG * loss + 1j * ALONG_UP * turn),
        (np.sin(own.angle), -ACROSS * loss - 1j * (1 - ALONG_UP) * turn),
    ):
        # Of each time the one before times the same factor.
        steps = np.broadcast_to(np.exp(rate * (HOP / RATE)), total.shape).copy()
        steps[0] = part
        total += np.multiply.accumulate(steps, axis=0)
    return total


def _summed(number: Floats, hz: float, at: int, strength: Complexes) -> Floats:
    """Return the sum of the partials, shape (blocks, HOP), as one matrix product.

    In a block sin(w(hop·h + k)) = sin(w·hop·h)·cos(wk) + cos(w·hop·h)·sin(wk), and the strength
    goes from one block's to the next's in a straight line, which makes two such products.
    """
    blocks = len(strength) - 1
    stretched = number * np.sqrt((1 + STIFF * number**2) / (1 + STIFF))
    # Whole turns are dropped before anything is multiplied by 2π, so that a pluck an hour on is
    # as exact as the first.
    begun = at * number * (hz / RATE) % 1.0
    turns = (begun + np.outer(np.arange(blocks) * float(HOP), stretched * (hz / RATE))) % 1.0
    place = np.exp(1j * (2 * np.pi * turns - STRETCH * number**2))
    now, change = strength[:-1] * place, np.diff(strength, axis=0) * place
    step = np.arange(HOP)
    inner = np.outer(stretched * (2 * np.pi * hz / RATE), step)
    ramp = step / HOP
    outer = np.hstack([now.imag, now.real, change.imag, change.real])
    within = np.vstack([np.cos(inner), np.sin(inner), np.cos(inner) * ramp, np.sin(inner) * ramp])
    total: Floats = outer @ within
    return total
