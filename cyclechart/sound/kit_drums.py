"""The drum kit and the hands that keep count, by General MIDI percussion key.

Drums are plain heads (zeros of the Bessel functions), cymbals many modes whose energy moves up
into the kHz within some hundredths of a second (Fletcher and Rossing, The Physics of Musical
Instruments, 2nd ed. 1998, ch. 20; from memory). Levels and decay times are ours.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

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

KICK, STICK, SNARE, CLAP, GHOST, HAT, PEDAL, OPEN_HAT, CRASH, RIDE, WAVE = (
    36, 37, 38, 39, 40, 42, 44, 46, 49, 51, 54,
)  # fmt: skip
"""Bass drum 1, side stick (a rim, and the tap of the count), acoustic snare, hand clap, electric
snare (a ghosted one), closed, pedal and open hi-hat, crash 1, ride 1, tambourine (the wave)."""

LOW_TOM, MID_TOM, HIGH_TOM, BELL = 43, 47, 50, 53
"""High floor tom, low-mid tom, high tom, ride bell."""


def hit(key: int, velocity: int) -> Wave:
    """Return a hit of the kit or the counting hands, shape (frames,), ending in exact zero.

    ValueError for a key that is not of the kit or the count, and a velocity outside 1 to 127.
    """
    if key not in HITS:
        keys = ", ".join(map(str, sorted(HITS)))
        raise ValueError(f"There is no sound for percussion key {key}; there is for {keys}.")
    make, peak = HITS[key]
    return finish(make(force(velocity)), peak * velocity_gain(velocity))


def _kick(hard: float) -> Floats:
    """Return the bass drum: a head stretched by the stroke falls back; the beater clicks."""
    frames = _frames(0.55)
    seconds = np.arange(frames) / RATE
    track = 54 + 70 * np.exp(-seconds / 0.028)
    body = gliding_sine(track, 0.55, 1.0) + gliding_sine(track * 1.593, 0.22, 0.35)
    click = 0.28 * hard * noise_burst(1500, 2500 + 3000 * hard, 0.025, 11, frames)
    return fade_in(body + click, 0.0015)


def _tom(hz: float, t60: float, seed: int) -> Callable[[float], Floats]:
    """Return the function of a tom whose head settles at ``hz`` and rings for ``t60`` seconds."""

    def tom(hard: float) -> Floats:
        """Return the tom: a head that the stroke stretches, its upper modes, the stick."""
        frames = _frames(t60)
        seconds = np.arange(frames) / RATE
        track = hz * (1 + 0.22 * hard * np.exp(-seconds / 0.045))
        body = gliding_sine(track, t60, 1.0) + gliding_sine(track * 1.593, 0.55 * t60, 0.42)
        head = decaying_modes(
            hz * np.array([2.136, 2.295, 2.653]),
            0.3 * t60,
            (0.4 + 0.6 * hard) * linear_gains([-13, -15, -19]),
            frames,
        )
        click = 0.2 * hard * noise_burst(900, 2200 + 3000 * hard, 0.02, seed, frames)
        return fade_in(body + head + click, 0.001)

    return tom


def _snare(hard: float) -> Floats:
    """Return the snare: head, wires and the crack of the stick."""
    frames = _frames(0.36)
    modes = 186 * np.array([1.0, 1.593, 2.136, 2.295, 2.653])
    head = decaying_modes(
        modes, [0.24, 0.2, 0.15, 0.14, 0.11], linear_gains([-3, -4, -8, -10, -13]), frames
    )
    wires = _wires(0.75 * (0.55 + 0.45 * hard), 0.36, hard, frames)
    crack = 0.4 * hard * noise_burst(2500, 6000, 0.03, 13, frames)
    return fade_in(head + wires + crack, 0.0006)


def _ghost(hard: float) -> Floats:
    """Return a ghost stroke of the snare: mostly wires, soon over."""
    frames = _frames(0.16)
    head = decaying_modes(
        186 * np.array([1.0, 1.593, 2.136]), 0.12, linear_gains([0, -3, -9]), frames
    )
    return fade_in(head + _wires(0.5, 0.16, hard, frames), 0.001)


def _wires(gain: float, t60: float, hard: float, frames: int) -> Floats:
    """Return the rattle of the snare wires, which begins a moment after the stroke."""
    rattle = noise_burst(1400, 5000 + 4500 * hard, t60, 12, frames)
    return gain * fade_in(rattle, 0.003)


def _stick(hard: float) -> Floats:
    """Return the stick on the rim: a few stiff modes of wood."""
    frames = _frames(0.1)
    modes = np.array([430.0, 815.0, 1710.0, 2460.0, 3620.0])
    decibels = np.array([-7.0, -3.0, 0.0, -4.0, -9.0]) - 6 * (1 - hard) * np.log2(modes / 430)
    wood = decaying_modes(modes, [0.1, 0.09, 0.07, 0.055, 0.04], linear_gains(decibels), frames)
    return fade_in(wood + 0.3 * hard * noise_burst(2000, 8000, 0.015, 14, frames), 0.0004)


def _hat(hard: float) -> Floats:
    """Return the closed hi-hat."""
    return _metal(hard, (3200, 14_500), 0.16, 15, edge=(6000, 14_000, 0.08, 0.9))


def _pedal(hard: float) -> Floats:
    """Return the hi-hat closed by the foot: no stick, a lower and softer sound."""
    return fade_in(_metal(hard, (1800, 9500), 0.13, 16, edge=(2500, 8000, 0.07, 0.8)), 0.004)


def _open_hat(hard: float) -> Floats:
    """Return the open hi-hat."""
    return _metal(hard, (2600, 14_500), 0.95, 15, edge=(5000, 14_000, 0.5, 0.8))


def _ride(hard: float) -> Floats:
    """Return the ride: a bed of modes that hums on, and the clear ping of the stick over it."""
    bed = _metal(hard, (350, 12_000), 2.4, 17, edge=(4000, 12_000, 0.25, 0.35), builds=0.012)
    modes = np.array([2870.0, 3415.0, 4130.0, 5290.0, 6840.0])
    ping = decaying_modes(
        modes, [0.9, 0.8, 0.7, 0.5, 0.3], linear_gains([-1, 0, -3, -5, -9]), len(bed)
    )
    bed /= np.abs(bed).max()
    return bed + (0.25 + 0.25 * hard) * fade_in(ping, 0.0006)


def _bell(hard: float) -> Floats:
    """Return the bell of the ride: few strong modes of its thick dome over a little of the bed."""
    bed = _metal(hard, (700, 12_000), 1.6, 19, edge=(4000, 12_000, 0.15, 0.3), builds=0.008)
    modes = np.array([1180.0, 1790.0, 2640.0, 3390.0, 4510.0, 6120.0])
    dome = decaying_modes(
        modes, [1.5, 1.3, 1.0, 0.8, 0.5, 0.3], linear_gains([-2, 0, -2, -4, -8, -11]), len(bed)
    )
    bed /= np.abs(bed).max()
    return (0.2 + 0.1 * hard) * bed + 0.5 * fade_in(dome, 0.0005)


def _crash(hard: float) -> Floats:
    """Return the crash."""
    return _metal(hard, (380, 14_000), 3.2, 18, edge=(3000, 14_000, 0.9, 0.7), builds=0.03)


def _metal(
    hard: float,
    band: tuple[float, float],
    t60: float,
    seed: int,
    edge: tuple[float, float, float, float],
    builds: float = 0.0,
) -> Floats:
    """Return a cymbal: many modes over ``band`` in Hz, the highest decaying in a third of ``t60``.

    ``edge`` is a hiss over it: from, to (Hz), decay time, level against the modes. ``builds``: the
    seconds in which the energy comes up from the low modes to the high.
    """
    frames = _frames(t60)
    random = np.random.RandomState(seed)
    low, high = band
    place = (np.arange(240) + random.uniform(0, 1, 240)) / 240
    # Evenly spaced, as in a plate; a third of them lower, where the ear hears single modes.
    modes = np.where(np.arange(240) % 3, low + (high - low) * place, low * (high / low) ** place)
    octaves = np.log2(modes / low)
    strength = random.uniform(0.3, 1.0, 240) * linear_gains(-(1.5 + 3 * (1 - hard)) * octaves)
    phase = random.uniform(0, 2 * np.pi, 240)
    lasts = t60 * 3.0 ** -(octaves / octaves.max())
    wave = decaying_modes(modes, lasts, strength, frames, phase)
    if builds:
        # Modes that build up late are taken away at first: the same modes, decaying at once.
        late = strength * np.clip(octaves / octaves.max(), 0, 1)
        wave -= decaying_modes(modes, 1 / (1 / lasts + 1 / (3 * builds)), late, frames, phase)
    start, stop, hiss_t60, gain = edge
    rms = float(np.sqrt(np.sum(strength**2) / 2))
    fizz = noise_burst(start, stop * (0.6 + 0.4 * hard), hiss_t60, seed + 20, frames)
    wave += gain * (0.5 + 0.5 * hard) * rms * fade_in(fizz, max(builds, 0.0005))
    return fade_in(wave, 0.0008)


def _clap(hard: float) -> Floats:
    """Return a clap: two palms that do not meet all at once, and the air between (about 1 kHz)."""
    frames = _frames(0.16)
    wave = 0.8 * noise_burst(700, 2600 + 1500 * hard, 0.16, 51, frames)
    for seconds, seed, gain in ((0.0, 52, 0.8), (0.007, 53, 1.0)):
        late = round(seconds * RATE)
        palm = fade_in(noise_burst(850, 3000 + 4000 * hard, 0.05, seed, frames), 0.0008)
        wave[late:] += gain * palm[: frames - late]
    air = decaying_modes([980, 1340], 0.07, [0.7, 0.4], frames)
    return fade_in(wave + air, 0.001)


def _wave(hard: float) -> Floats:
    """Return the wave of the count: a soft shake that swells before it fades."""
    frames = _frames(0.3)
    grains = 0.6 + 0.4 * np.abs(np.sin(2 * np.pi * 26 * np.arange(frames) / RATE))
    shake = noise_burst(4200, 7500 + 3000 * hard, 0.3, 54, frames) * grains
    return fade_in(shake, 0.035) * decay(0.9, frames)


def _frames(t60: float) -> int:
    """Return the frames in which a decay falls 80 dB."""
    return round((1.34 * t60 + 0.02) * RATE)


HITS: dict[int, tuple[Callable[[float], Floats], float]] = {
    KICK: (_kick, 0.85), SNARE: (_snare, 0.8), GHOST: (_ghost, 0.5), STICK: (_stick, 0.7),
    HAT: (_hat, 0.5), PEDAL: (_pedal, 0.4), OPEN_HAT: (_open_hat, 0.45), RIDE: (_ride, 0.4),
    CRASH: (_crash, 0.65), CLAP: (_clap, 0.6), WAVE: (_wave, 0.35),
    LOW_TOM: (_tom(82, 0.75, 41), 0.8), MID_TOM: (_tom(118, 0.6, 42), 0.78),
    HIGH_TOM: (_tom(165, 0.5, 43), 0.75), BELL: (_bell, 0.45),
}  # fmt: skip
"""The function of each sound and its peak at velocity 127: the balance of the kit."""
