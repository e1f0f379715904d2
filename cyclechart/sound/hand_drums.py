"""Strokes of the hand drums: decaying modes and a band of noise, from the models of the drums."""

from __future__ import annotations

import numpy as np

from cyclechart.sound.drum_models import (
    DRUMS,
    SOUNDS,
    Bass,
    Drum,
    NoiseBand,
    StrokeName,
    TrebleStroke,
)
from cyclechart.sound.rate import RATE, Wave
from cyclechart.sound.resonance import (
    Floats,
    decaying_modes,
    fade_in,
    finish,
    force,
    gliding_sine,
    linear_gains,
    noise_burst,
    velocity_gain,
)

PEAKS: dict[StrokeName, float] = {
    "na": 0.8, "tin": 0.72, "tun": 0.66, "te": 0.8, "ge": 0.78, "ke": 0.8,
}  # fmt: skip
"""The peak of each stroke at velocity 127: a long sound is as loud at a lower peak."""
LONGEST = 4.0
"""The longest ring of a stroke, in seconds."""
JINGLING = 0.28
"""Seconds in which jingles decay (60 dB)."""


def stroke(drum: str, sound: str, velocity: int, hz: float) -> Wave:
    """Return a stroke of a hand drum, shape (frames,): as long as it rings, ending in exact zero.

    ``sound`` is na, tin, tun, te, ge or ke; ``hz`` the pitch of the treble drum (which partial
    that is: see ``drum_models``). Harder is louder and brighter: at velocity 127 the peak is 0.66
    to 0.8.

    ValueError for a drum or a sound that is unknown, a velocity outside 1 to 127 and a pitch
    outside 40 to 1000 Hz.
    """
    if drum not in DRUMS:
        raise ValueError(f"There is no sound for the drum {drum}; there is for {', '.join(DRUMS)}.")
    if sound not in SOUNDS:
        raise ValueError(f"A hand drum sounds {', '.join(SOUNDS)}, not {sound}.")
    if not 40 <= hz <= 1000:
        raise ValueError(f"A treble drum is tuned to something from 40 to 1000 Hz, not {hz:g}.")
    model, hard = DRUMS[drum], force(velocity)
    if sound == "ge":
        wave, soft = _open_bass(model.bass, hz, hard), 0.003
    elif sound == "ke":
        wave, soft = _closed_bass(model, hz, hard), 0.001
    else:
        wave, soft = _treble(model, model.treble[sound], hz, hard), 0.0008
    if model.jingles is not None:
        gain = float(linear_gains(model.jingles)) * hard * np.abs(wave).max()
        frames = max(len(wave), _frames(JINGLING))
        wave = np.pad(wave, (0, frames - len(wave))) + gain * _jingles(frames)
    return finish(fade_in(wave, soft), PEAKS[sound] * velocity_gain(velocity))


def _treble(drum: Drum, stroke: TrebleStroke, hz: float, hard: float) -> Floats:
    ratio = np.array(drum.partials) / drum.partials[drum.pitch]
    octaves = np.maximum(np.log2(ratio), 0.0)
    t60 = stroke.t60 * 2 ** (-stroke.faster * octaves)
    frames = _frames(max(float(t60.max()), stroke.noise.t60))
    # A softer hand is a softer hammer: 7 dB an octave less at the very softest.
    gain = linear_gains(np.array(stroke.db) - 7 * (1 - hard) * octaves)
    # Scattered, for in phase they would make one high spike and little sound after it.
    wave = decaying_modes(hz * ratio, t60, gain, frames, phase=np.arange(len(ratio)) ** 2 * 0.9)
    return wave + _noise(stroke.noise, hard, 1, frames)


def _open_bass(bass: Bass, hz: float, hard: float) -> Floats:
    frames = _frames(bass.t60)
    unit = hz if bass.tuned else 1.0
    start = bass.start * unit
    # Only a stressed stroke is pressed: from velocity 80 on.
    pressed = 1 + (bass.pressed - 1) * max(0.0, (hard - 0.63) / 0.37)
    end = bass.end * unit * pressed
    seconds = np.arange(frames) / RATE
    track = start + (end - start) * (1 - np.exp(-((seconds / bass.rise) ** 2)))
    wave = np.zeros(frames)
    for ratio, db in zip(bass.ratios, bass.db, strict=True):
        quieter = float(linear_gains(db - 6 * (1 - hard) * np.log2(ratio)))
        wave += gliding_sine(track * ratio, bass.t60 * ratio**-0.8, quieter)
    return wave + _noise(bass.thump, hard, 2, frames)


def _closed_bass(drum: Drum, hz: float, hard: float) -> Floats:
    """Return a stroke of the flat hand: noise, and the head under it for a moment."""
    bass = drum.bass
    frames = _frames(drum.slap.t60)
    low = bass.end * (hz if bass.tuned else 1.0) * 1.5
    body = decaying_modes(low * np.array([1.0, 1.7, 2.4]), 0.07, linear_gains([0, -5, -9]), frames)
    return body + _noise(drum.slap, hard, 3, frames)


def _noise(noise: NoiseBand, hard: float, seed: int, frames: int) -> Floats:
    """Return the hand's noise: duller, and up to 8 dB softer than the rest, in a soft stroke."""
    high = max(noise.high * (0.5 + 0.5 * hard), noise.low * 1.5)
    gain = float(linear_gains(noise.db - 8 * (1 - hard)))
    return gain * noise_burst(noise.low, high, noise.t60, seed, frames)


def _jingles(frames: int) -> Floats:
    """Return a few pairs of small discs: a cluster of high modes and some noise."""
    hz = np.array([5230, 5870, 6490, 7310, 8120, 9040, 10350, 11800])
    ring = decaying_modes(hz, JINGLING, 0.4, frames, phase=np.arange(8) ** 2.0)
    return ring + 0.6 * noise_burst(5e3, 12e3, 0.14, 4, frames)


def _frames(t60: float) -> int:
    """Return the frames in which a decay falls 80 dB."""
    return round(min(LONGEST, 1.34 * t60 + 0.02) * RATE)
