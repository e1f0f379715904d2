"""Strokes of the hand drums: a burst of contact, then the modes of the head and the skin's noise.

What the drums are is in ``drum_models``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from cyclechart.sound.drum_models import (
    CONTACTS,
    DRUMS,
    HAMMER,
    MODEL_FORCE,
    SOUNDS,
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
    gliding_modes,
    linear_gains,
    noise_burst,
    velocity_gain,
)
from cyclechart.sound.variants import VARIANTS, Variant, checked_variant

PEAKS: dict[StrokeName, float] = {
    "na": 0.95, "tin": 0.95, "tun": 0.88, "te": 0.94, "ge": 0.97, "ke": 0.94,
}  # fmt: skip
"""The peak of the tallest variant at velocity 127: a long sound is as loud at a lower peak."""
LONGEST = 4.0
"""The longest ring of a stroke, in seconds."""
ONSET = round(0.015 * RATE)
"""Frames of the beginning against which the burst of the contact is measured."""
CONTACT_BY_FORCE = 12.0
"""dB by which the burst rises against the head from no force to all."""
JINGLING = 0.28
"""Seconds in which jingles decay (60 dB)."""


def stroke(drum: str, sound: str, velocity: int, hz: float, variant: int = 0) -> Wave:
    """Return a stroke of a hand drum, shape (frames,): as long as it rings, ending in exact zero.

    ``sound`` is na, tin, tun, te, ge or ke; ``hz`` the pitch of the treble drum (which partial
    that is: see ``drum_models``); ``variant``: which of the renderings, see ``variants``. Harder is
    louder and brighter: at velocity 127 the peak is up to 0.97.

    ValueError for a drum or a sound that is unknown, a velocity outside 1 to 127, a pitch outside
    40 to 1000 Hz and a variant that there is not.
    """
    if drum not in DRUMS:
        raise ValueError(f"There is no sound for the drum {drum}; there is for {', '.join(DRUMS)}.")
    if sound not in SOUNDS:
        raise ValueError(f"A hand drum sounds {', '.join(SOUNDS)}, not {sound}.")
    if not 40 <= hz <= 1000:
        raise ValueError(f"A treble drum is tuned to something from 40 to 1000 Hz, not {hz:g}.")
    wave = _Hand(DRUMS[drum], hz, force(velocity), _variant_of(variant, sound)).wave(sound)
    # All forces are scaled alike, so that each is louder than every softer one.
    level = float(np.abs(wave).max()) * _scale(drum, sound, hz, variant)
    return finish(wave, level * velocity_gain(velocity))


def _variant_of(variant: int, sound: StrokeName) -> Variant:
    """Return a variant of a sound of a hand drum. ValueError for a number that there is not."""
    return checked_variant(variant, SOUNDS.index(sound))


def _scale(drum: str, sound: StrokeName, hz: float, variant: int) -> float:
    """Return the factor that brings a stroke to its level; the variants are equally loud."""
    found = [_hardest(drum, sound, hz, one) for one in range(VARIANTS)]
    return PEAKS[sound] * min(own / top for top, own in found) / found[variant][1]


@lru_cache(maxsize=512)
def _hardest(drum: str, sound: StrokeName, hz: float, variant: int) -> tuple[float, float]:
    """Return the peak of the hardest stroke before it is scaled, and the root of its energy."""
    wave = _Hand(DRUMS[drum], hz, 1.0, _variant_of(variant, sound)).wave(sound)
    return float(np.abs(wave).max()), float(np.sqrt(np.sum(wave**2)))


@dataclass(frozen=True, slots=True)
class _Hand:
    """A hand that strikes a drum of ``hz`` with some force (0 to 1), in one of its variants."""

    drum: Drum
    hz: float
    hard: float
    variant: Variant

    def wave(self, sound: StrokeName) -> Floats:
        """Return a stroke at any level."""
        if sound == "ge":
            head = fade_in(self._open_bass(), 0.003)
        elif sound == "ke":
            head = fade_in(self._closed_bass(), 0.001)
        else:
            head = fade_in(self._treble(self.drum.treble[sound]), 0.0008)
        wave = head + self._contact(CONTACTS[sound], head)
        if self.drum.jingles is None:
            return wave
        gain = float(linear_gains(self.drum.jingles)) * self.hard * np.abs(wave).max()
        frames = max(len(wave), _frames(JINGLING))
        wave = np.pad(wave, (0, frames - len(wave)))
        return fade_in(wave + gain * self._jingles(frames), 0.0008)

    def _treble(self, stroke: TrebleStroke) -> Floats:
        drum, count = self.drum, len(self.drum.partials)
        ratio = np.array(drum.partials) / drum.partials[drum.pitch]
        above = np.log2(ratio)
        t60 = stroke.t60 * 2 ** (-stroke.faster * np.maximum(above, 0.0))
        frames = _frames(max(float(t60.max()), stroke.noise.t60))
        # A softer hand is a softer hammer.
        above_loudest = above - above[int(np.argmax(stroke.db))]
        decibels = stroke.db + stroke.hammer * (self.hard - MODEL_FORCE) * above_loudest
        # The partial that is tuned stays where it is.
        moved = self.variant.ratios(count)
        moved[drum.pitch] = 1.0
        wave = decaying_modes(
            self.hz * ratio * moved,
            t60,
            linear_gains(decibels + self.variant.decibels(count)),
            frames,
            # Scattered, or they would make one high spike and little sound after it.
            phase=np.arange(count) ** 2 * 0.4,
        )
        return wave + self._noise(stroke.noise, 1, frames)

    def _open_bass(self) -> Floats:
        bass = self.drum.bass
        frames = _frames(bass.t60)
        unit = self.hz if bass.tuned else 1.0
        start = bass.start * unit
        # Only a stressed stroke is pressed: from velocity 80 on.
        pressed = 1 + (bass.pressed - 1) * max(0.0, (self.hard - 0.63) / 0.37)
        end = bass.end * unit * pressed
        seconds = np.arange(frames) / RATE
        track = start + (end - start) * (1 - np.exp(-((seconds / bass.rise) ** 2)))
        ratios, count = np.array(bass.ratios), len(bass.ratios)
        decibels = bass.db + HAMMER * (self.hard - MODEL_FORCE) * np.log2(ratios)
        wave = gliding_modes(
            track,
            ratios * self.variant.ratios(count),
            bass.t60 * ratios**-0.8,
            linear_gains(decibels + self.variant.decibels(count)),
        )
        return wave + self._noise(bass.thump, 2, frames)

    def _closed_bass(self) -> Floats:
        """Return a stroke of the flat hand: noise, and the head under it for a moment."""
        drum, bass = self.drum, self.drum.bass
        frames = _frames(drum.slap.t60)
        low = bass.end * (self.hz if bass.tuned else 1.0) * 1.5
        hz = low * np.array([1.0, 1.7, 2.4]) * self.variant.ratios(3)
        decibels = np.array([0.0, -5.0, -9.0]) + self.variant.decibels(3)
        body = decaying_modes(hz, 0.07, linear_gains(decibels), frames)
        return body + self._noise(drum.slap, 3, frames)

    def _noise(self, noise: NoiseBand, seed: int, frames: int) -> Floats:
        """Return the skin's noise: duller, and up to 8 dB softer than the rest, when soft."""
        hard = self.variant.hardness(self.hard)
        high = max(noise.high * (0.5 + 0.5 * hard), noise.low * 1.5)
        gain = float(linear_gains(noise.db - 8 * (1 - hard)))
        return gain * noise_burst(noise.low, high, noise.t60, self.variant.seed(seed), frames)

    def _contact(self, burst: NoiseBand, head: Floats) -> Floats:
        """Return the burst as the hand meets the head, in proportion to what rings at first.

        Harder, finger and head are together for a shorter time: the burst reaches higher (as for
        hammers: Fletcher and Rossing, The Physics of Musical Instruments, ch. 18; from memory).
        """
        more = self.variant.hardness(self.hard) / MODEL_FORCE
        high = min(max(burst.high * more**0.6, burst.low * 1.5), 16e3)
        noise = noise_burst(burst.low, high, burst.t60, self.variant.seed(5), len(head))
        noise = fade_in(noise, 0.0004)
        decibels = burst.db + self.drum.contact + CONTACT_BY_FORCE * MODEL_FORCE * (more - 1)
        rings, hisses = (float(np.sum(wave[:ONSET] ** 2)) for wave in (head, noise))
        gain = float(linear_gains(decibels)) * np.sqrt(rings / hisses)
        return np.asarray(gain * noise, float)

    def _jingles(self, frames: int) -> Floats:
        """Return a few pairs of small discs: a cluster of high modes and some noise."""
        hz = np.array([5230, 5870, 6490, 7310, 8120, 9040, 10350, 11800])
        gain = 0.4 * linear_gains(self.variant.decibels(8))
        ring = decaying_modes(hz, JINGLING, gain, frames, phase=np.arange(8) ** 2.0)
        return ring + 0.6 * noise_burst(5e3, 12e3, 0.14, self.variant.seed(4), frames)


def _frames(t60: float) -> int:
    """Return the frames in which a decay falls 80 dB."""
    return round(min(LONGEST, 1.34 * t60 + 0.02) * RATE)
