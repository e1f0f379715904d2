"""The drum kit and the hands that keep count, by General MIDI percussion key.

Drums are plain heads (zeros of the Bessel functions); for the metal see ``cymbals``. Levels and
decay times are ours.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache, partial
from typing import TypeAlias

import numpy as np

from cyclechart.sound import cymbals
from cyclechart.sound.cymbals import Cymbal, cymbal_stroke
from cyclechart.sound.rate import RATE, Wave
from cyclechart.sound.resonance import (
    Floats,
    decay,
    decaying_modes,
    fade_in,
    finish,
    force,
    gliding_sine,
    linear_gains,
    noise_burst,
    velocity_gain,
)
from cyclechart.sound.variants import Variant, checked_variant

Make: TypeAlias = Callable[[float, Variant], Floats]
"""A function of the force, 0 to 1, and the variant that returns a sound at any level."""


KICK, STICK, SNARE, CLAP, GHOST, HAT, PEDAL, OPEN_HAT, CRASH, RIDE, WAVE = (
    36, 37, 38, 39, 40, 42, 44, 46, 49, 51, 54,
)  # fmt: skip
"""Bass drum 1, side stick (a rim, and the tap of the count), acoustic snare, hand clap, electric
snare (a ghosted one), closed, pedal and open hi-hat, crash 1, ride 1, tambourine (the wave)."""

LOW_TOM, MID_TOM, HIGH_TOM, BELL = 43, 47, 50, 53
"""High floor tom, low-mid tom, high tom, ride bell."""


def hit(key: int, velocity: int, variant: int = 0) -> Wave:
    """Return a hit of the kit or the counting hands, shape (frames,), ending in exact zero.

    ``variant``: which of the renderings, see ``variants``. ValueError for a key that is not of the
    kit or the count, a velocity outside 1 to 127 and a variant that there is not.
    """
    if key not in HITS:
        keys = ", ".join(map(str, sorted(HITS)))
        raise ValueError(f"There is no sound for percussion key {key}; there is for {keys}.")
    make, peak = HITS[key]
    wave = make(force(velocity), checked_variant(variant, key))
    # Noise has its peak by chance: by their energy the variants are brought to one loudness.
    louder = _model_fullness(key, velocity) / _fullness(wave) if variant else 1.0
    return finish(wave, peak * louder * velocity_gain(velocity))


@lru_cache(maxsize=256)
def _model_fullness(key: int, velocity: int) -> float:
    return _fullness(HITS[key][0](force(velocity), checked_variant(0, key)))


def _fullness(wave: Floats) -> float:
    """Return the root of a wave's energy for a peak of 1."""
    return float(np.sqrt(np.sum(wave**2)) / np.abs(wave).max())


def _cymbal(cymbal: Cymbal) -> Make:
    """Return the function of a cymbal as it is struck in one way."""
    return partial(cymbal_stroke, cymbal)


def _pedal(hard: float, variant: Variant) -> Floats:
    """Return the hi-hat closed by the foot: no stick, a lower and softer sound."""
    return fade_in(cymbal_stroke(cymbals.PEDAL_HAT, hard, variant), 0.004)


def _kick(hard: float, variant: Variant) -> Floats:
    """Return the bass drum: a head stretched by the stroke falls back; the beater clicks."""
    frames = _frames(0.55)
    seconds = np.arange(frames) / RATE
    (place,) = linear_gains(variant.decibels(1))
    track = 54 + 70 * np.exp(-seconds / 0.028)
    body = gliding_sine(track, 0.55, 1.0) + gliding_sine(track * 1.593, 0.22, 0.35 * place)
    click = 0.28 * hard * noise_burst(1500, 2500 + 3000 * hard, 0.025, variant.seed(11), frames)
    return fade_in(body + click, 0.0015)


def _tom(hz: float, t60: float, seed: int) -> Make:
    """Return the function of a tom whose head settles at ``hz`` and rings for ``t60`` seconds."""

    def tom(hard: float, variant: Variant) -> Floats:
        """Return the tom: a head that the stroke stretches, its upper modes, the stick."""
        frames = _frames(t60)
        seconds = np.arange(frames) / RATE
        (place,) = linear_gains(variant.decibels(1))
        track = hz * (1 + 0.22 * hard * np.exp(-seconds / 0.045))
        body = gliding_sine(track, t60, 1.0) + gliding_sine(track * 1.593, 0.55 * t60, 0.42 * place)
        head = decaying_modes(
            hz * np.array([2.136, 2.295, 2.653]),
            0.3 * t60,
            (0.4 + 0.6 * hard) * linear_gains(np.array([-13, -15, -19]) + variant.decibels(3)),
            frames,
        )
        click = 0.2 * hard * noise_burst(900, 2200 + 3000 * hard, 0.02, variant.seed(seed), frames)
        return fade_in(body + head + click, 0.001)

    return tom


def _snare(hard: float, variant: Variant) -> Floats:
    """Return the snare: head, wires and the crack of the stick."""
    frames = _frames(0.36)
    modes = 186 * np.array([1.0, 1.593, 2.136, 2.295, 2.653])
    head = decaying_modes(
        modes,
        [0.24, 0.2, 0.15, 0.14, 0.11],
        linear_gains(np.array([-3, -4, -8, -10, -13]) + variant.decibels(5)),
        frames,
    )
    wires = _wires(0.75 * (0.55 + 0.45 * hard), 0.36, hard, variant, frames)
    crack = 0.4 * hard * noise_burst(2500, 6000, 0.03, variant.seed(13), frames)
    return fade_in(head + wires + crack, 0.0006)


def _ghost(hard: float, variant: Variant) -> Floats:
    """Return a ghost stroke of the snare: mostly wires, soon over."""
    frames = _frames(0.16)
    head = decaying_modes(
        186 * np.array([1.0, 1.593, 2.136]),
        0.12,
        linear_gains(np.array([0, -3, -9]) + variant.decibels(3)),
        frames,
    )
    return fade_in(head + _wires(0.5, 0.16, hard, variant, frames), 0.001)


def _wires(gain: float, t60: float, hard: float, variant: Variant, frames: int) -> Floats:
    """Return the rattle of the snare wires, which begins a moment after the stroke."""
    rattle = noise_burst(1400, 5000 + 4500 * hard, t60, variant.seed(12), frames)
    return gain * fade_in(rattle, 0.003)


def _stick(hard: float, variant: Variant) -> Floats:
    """Return the stick on the rim: a few stiff modes of wood."""
    frames = _frames(0.1)
    modes = np.array([430.0, 815.0, 1710.0, 2460.0, 3620.0])
    decibels = np.array([-7.0, -3.0, 0.0, -4.0, -9.0]) - 6 * (1 - hard) * np.log2(modes / 430)
    decibels += variant.decibels(5)
    wood = decaying_modes(modes, [0.1, 0.09, 0.07, 0.055, 0.04], linear_gains(decibels), frames)
    return fade_in(
        wood + 0.3 * hard * noise_burst(2000, 8000, 0.015, variant.seed(14), frames), 0.0004
    )


def _clap(hard: float, variant: Variant) -> Floats:
    """Return a clap: two palms that do not meet all at once, and the air between (about 1 kHz)."""
    frames = _frames(0.16)
    wave = 0.8 * noise_burst(700, 2600 + 1500 * hard, 0.16, variant.seed(51), frames)
    for seconds, seed, gain in ((0.0, 52, 0.8), (0.007, 53, 1.0)):
        late = round(seconds * RATE)
        palm = fade_in(
            noise_burst(850, 3000 + 4000 * hard, 0.05, variant.seed(seed), frames), 0.0008
        )
        wave[late:] += gain * palm[: frames - late]
    air = decaying_modes(
        [980, 1340], 0.07, linear_gains(np.array([-3, -8]) + variant.decibels(2)), frames
    )
    return fade_in(wave + air, 0.001)


def _wave(hard: float, variant: Variant) -> Floats:
    """Return the wave of the count: a soft shake that swells before it fades."""
    frames = _frames(0.3)
    grains = 0.6 + 0.4 * np.abs(np.sin(2 * np.pi * 26 * np.arange(frames) / RATE))
    shake = noise_burst(4200, 7500 + 3000 * hard, 0.3, variant.seed(54), frames) * grains
    return fade_in(shake, 0.035) * decay(0.9, frames)


def _frames(t60: float) -> int:
    """Return the frames in which a decay falls 80 dB."""
    return round((1.34 * t60 + 0.02) * RATE)


HITS: dict[int, tuple[Make, float]] = {
    KICK: (_kick, 0.85), SNARE: (_snare, 0.8), GHOST: (_ghost, 0.5), STICK: (_stick, 0.7),
    HAT: (_cymbal(cymbals.CLOSED_HAT), 0.5), PEDAL: (_pedal, 0.4),
    OPEN_HAT: (_cymbal(cymbals.OPEN_HAT), 0.45), RIDE: (_cymbal(cymbals.RIDE), 0.4),
    CRASH: (_cymbal(cymbals.CRASH), 0.65), CLAP: (_clap, 0.6), WAVE: (_wave, 0.35),
    LOW_TOM: (_tom(82, 0.75, 41), 0.8), MID_TOM: (_tom(118, 0.6, 42), 0.78),
    HIGH_TOM: (_tom(165, 0.5, 43), 0.75), BELL: (_cymbal(cymbals.BELL), 0.45),
}  # fmt: skip
"""The function of each sound and its peak at velocity 127: the balance of the kit."""
