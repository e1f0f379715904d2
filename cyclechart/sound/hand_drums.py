"""Hand drums: strokes on a treble and a bass drum, as decaying modes and a band of noise.

A treble head loaded in its middle rings in partials near 1:2:3:4:5 (Raman and Kumar, Nature 104,
1920; Raman, Proc. Indian Acad. Sci. A1, 1934), a plain one at the zeros of the Bessel functions.
``hz`` is the pitch that the drum is tuned to, near middle Sa. On a loaded head that is partial 2,
the lowest that sounds where the finger holds partial 1 down (na, tin); the whole head (tun) then
rings an octave below. On a plain head, on the pot and on the box it is partial 1.

Levels, decay times and glides are ours unless a line names its source, and so is the choice of a
substitute where a drum has no such stroke as one of the six sounds of a tabla.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

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

StrokeName = Literal["na", "tin", "tun", "te", "ge", "ke"]
SOUNDS: tuple[StrokeName, ...] = ("na", "tin", "tun", "te", "ge", "ke")

PEAKS: dict[StrokeName, float] = {
    "na": 0.8, "tin": 0.72, "tun": 0.66, "te": 0.8, "ge": 0.78, "ke": 0.8,
}  # fmt: skip
"""The peak of each stroke at velocity 127: a long sound is as loud at a lower peak."""
LONGEST = 4.0
"""The longest ring of a stroke, in seconds."""
JINGLING = 0.28
"""Seconds in which jingles decay (60 dB)."""

LOADED = (1.01, 2.0, 2.996, 4.004, 4.997, 3.03, 4.05, 6.15, 7.4)
"""Partials of a head loaded in its middle. Those after the fifth are the twins that a real head has
of 3 and 4, and the partials above, which the load no longer tunes. Partial 1 solved for a
two-density head lies at 1.07; it is taken nearer to 1, where drums are voiced to be in tune."""
PLAIN = (1.0, 1.593, 2.136, 2.295, 2.653, 2.917, 3.156, 3.500, 3.600)
"""Zeros of J0, J1, J2, J0, J3, J1, J4, J2, J0 by the first (2.405): an even membrane in vacuum."""
POT = (1.0, 1.86, 2.71, 3.94, 5.2, 6.9, 8.3, 9.8, 11.5)
"""A fired pot struck on its side: no near harmonics (a guess by ear; no source)."""
BOX = (1.0, 1.47, 2.09, 2.56, 3.11, 3.77, 4.6, 5.7, 6.8)
"""A thin plate nailed to a box (a guess by ear; no source)."""


@dataclass(frozen=True, slots=True)
class NoiseBand:
    """A band of noise: its edges in Hz, its decay time (60 dB) in seconds, its level in dB."""

    low: float
    high: float
    t60: float
    db: float


@dataclass(frozen=True, slots=True)
class TrebleStroke:
    """A stroke on the treble drum.

    ``db``: the levels of the partials in dB; ``t60``: the decay time (60 dB) of the pitch in
    seconds; ``faster``: the octaves by which the decay is shorter for each octave above it;
    ``noise``: that of the hand.
    """

    db: tuple[float, ...]
    t60: float
    faster: float
    noise: NoiseBand


@dataclass(frozen=True, slots=True)
class Bass:
    """An open stroke on the bass drum.

    Its lowest mode glides from ``start`` to ``end`` (Hz) in ``rise`` seconds and decays in ``t60``.
    ``ratios`` and ``db``: its modes as multiples of the lowest, and their levels; ``thump``: the
    noise of the hand. ``tuned``: start and end are multiples of the treble drum's hz instead.
    """

    start: float
    end: float
    rise: float
    t60: float
    ratios: tuple[float, ...]
    db: tuple[float, ...]
    thump: NoiseBand
    tuned: bool = False
    pressed: float = 1.0
    """The factor on the end of the glide at velocity 127, where the wrist presses the head."""


@dataclass(frozen=True, slots=True)
class Drum:
    """A pair of drums, or one drum that is played as a pair."""

    partials: tuple[float, ...]
    pitch: int
    """The index of the partial that is tuned to hz."""
    treble: dict[StrokeName, TrebleStroke]
    bass: Bass
    slap: NoiseBand
    """The noise of the closed bass stroke."""
    jingles: float | None = None
    """Level in dB of the jingles in the rim, if there are any."""


TABLA = Drum(
    LOADED,
    1,
    {
        # The first partial is 34 and 20 dB down: the ring finger lies on the head.
        "na": TrebleStroke((-34, 0, -3, -6, -9, -9, -14, -16, -20), 1.1, 0.75,
                           NoiseBand(2e3, 7e3, 0.04, -22)),
        "tin": TrebleStroke((-20, 0, -10, -17, -25, -20, -28, -40, -46), 1.5, 0.9,
                      NoiseBand(800, 3e3, 0.03, -28)),
        "tun": TrebleStroke((0, -15, -19, -26, -32, -26, -34, -40, -46), 1.3, 0.9,
                      NoiseBand(400, 1500, 0.03, -26)),
        "te": TrebleStroke((-14, 0, -5, -8, -12, -8, -12, -14, -16), 0.12, 0.3,
                           NoiseBand(700, 4e3, 0.09, -9)),
    },
    # 79 to 92 Hz, higher if pressed; small loudspeakers play only the overtones of it.
    Bass(79, 92, 0.16, 1.5, (1, 2.0, 2.98, 4.1), (0, -11, -18, -26), NoiseBand(150, 900, 0.05, -20),
         pressed=1.28),
    NoiseBand(250, 2200, 0.11, 0),
)  # fmt: skip

MRIDANGAM = replace(
    TABLA,
    treble={
        # A thicker head over wood: shorter, with more of the skin in the stroke.
        "na": TrebleStroke((-26, 0, -2, -7, -12, -8, -14, -18, -20), 0.75, 0.8,
                           NoiseBand(1200, 5e3, 0.05, -17)),
        "tin": TrebleStroke((-16, 0, -8, -14, -22, -16, -24, -34, -40), 1.1, 0.9,
                      NoiseBand(700, 2500, 0.04, -22)),
        "tun": TrebleStroke((0, -8, -16, -22, -28, -22, -30, -36, -40), 0.95, 0.9,
                      NoiseBand(300, 1500, 0.04, -22)),
        "te": TrebleStroke((-10, 0, -4, -8, -12, -8, -12, -14, -16), 0.11, 0.3,
                           NoiseBand(500, 3e3, 0.1, -8)),
    },
    # The left head, with its wet paste, an octave below the right (common practice): no glide.
    bass=Bass(0.515, 0.5, 0.08, 0.9, (1, 1.7, 2.3, 3.0), (0, -14, -19, -26),
              NoiseBand(150, 800, 0.06, -16), tuned=True),
    slap=NoiseBand(200, 1600, 0.12, 0),
)  # fmt: skip

PAKHAWAJ = replace(
    TABLA,
    treble={
        # A bigger drum, struck with the whole palm: longer and darker.
        "na": TrebleStroke((-22, 0, -4, -9, -14, -10, -16, -20, -24), 1.0, 0.85,
                           NoiseBand(900, 4e3, 0.06, -18)),
        "tin": TrebleStroke((-12, 0, -8, -15, -24, -16, -26, -36, -40), 1.4, 0.95,
                      NoiseBand(500, 2e3, 0.05, -22)),
        "tun": TrebleStroke((0, -7, -14, -22, -28, -22, -30, -36, -40), 1.3, 0.95,
                      NoiseBand(250, 1200, 0.05, -20)),
        "te": TrebleStroke((-8, 0, -5, -9, -14, -9, -14, -16, -18), 0.13, 0.3,
                           NoiseBand(350, 2500, 0.09, -7)),
    },
    bass=Bass(0.53, 0.5, 0.12, 1.5, (1, 1.65, 2.2, 2.9), (0, -12, -18, -25),
              NoiseBand(100, 700, 0.07, -16), tuned=True),
    slap=NoiseBand(150, 1500, 0.13, 0),
)  # fmt: skip

DHOLAK = Drum(
    PLAIN,
    0,
    {
        "na": TrebleStroke((-14, 0, -4, -6, -9, -11, -13, -15, -16), 0.45, 0.6,
                           NoiseBand(1500, 6e3, 0.05, -14)),
        "tin": TrebleStroke((-6, 0, -8, -10, -16, -18, -22, -26, -28), 0.6, 0.8,
                      NoiseBand(800, 3e3, 0.04, -18)),
        "tun": TrebleStroke((0, -8, -14, -14, -20, -22, -26, -28, -30), 0.7, 0.8,
                      NoiseBand(400, 2e3, 0.05, -20)),
        "te": TrebleStroke((-6, 0, -4, -6, -8, -10, -12, -14, -16), 0.11, 0.3,
                           NoiseBand(700, 5e3, 0.09, -8)),
    },
    # The heel of the hand slides on the head, which is loaded from within.
    Bass(72, 98, 0.2, 1.1, (1, 1.62, 2.2, 2.7), (0, -12, -18, -24), NoiseBand(150, 1000, 0.06, -17),
         pressed=1.25),
    NoiseBand(250, 2500, 0.11, 0),
)  # fmt: skip


def _treble_of(
    drum: Drum, longer: float, noise: float, damped: float
) -> dict[StrokeName, TrebleStroke]:
    """Return a drum's strokes changed for another head.

    Open strokes ring ``longer`` times as long, the hand's noise is ``noise`` dB louder, and each
    octave decays ``damped`` octaves faster.
    """
    return {
        name: replace(
            stroke,
            t60=stroke.t60 * (1 if name == "te" else longer),
            faster=stroke.faster + damped,
            noise=replace(stroke.noise, db=stroke.noise.db + noise),
        )
        for name, stroke in drum.treble.items()
    }


CONGAS = replace(
    DHOLAK,
    treble=_treble_of(DHOLAK, 1.15, -2, 0.35),  # thick skin
    bass=Bass(0.68, 0.667, 0.05, 0.8, PLAIN[:4], (0, -7, -15, -17), NoiseBand(150, 900, 0.05, -18),
              tuned=True),
    slap=NoiseBand(200, 1800, 0.12, 0),
)  # fmt: skip
FRAME = replace(
    DHOLAK,
    treble=_treble_of(DHOLAK, 1.6, -3, 0.1),
    # One wide head: the bass is its middle, the treble its rim.
    bass=Bass(0.36, 0.345, 0.06, 1.2, PLAIN[:4], (0, -8, -15, -16), NoiseBand(120, 800, 0.06, -18),
              tuned=True),
    slap=NoiseBand(250, 3e3, 0.11, 0),
)  # fmt: skip
KANJIRA = replace(
    DHOLAK,
    treble=_treble_of(DHOLAK, 0.7, 2, 0.0),
    # One small head whose middle is pressed: it glides far.
    bass=Bass(86, 134, 0.14, 0.8, (1, 1.6, 2.1, 2.6), (0, -10, -17, -24),
              NoiseBand(200, 1200, 0.05, -16), pressed=1.15),
    jingles=-20,
)  # fmt: skip
GHATAM = Drum(
    POT,
    0,
    {
        "na": TrebleStroke((-6, 0, -2, -5, -6, -9, -12, -14, -16), 0.5, 0.45,
                           NoiseBand(2500, 9e3, 0.03, -16)),
        "tin": TrebleStroke((0, -3, -8, -12, -15, -18, -22, -24, -26), 0.6, 0.5,
                      NoiseBand(1500, 6e3, 0.03, -20)),
        "tun": TrebleStroke((0, -12, -16, -20, -24, -28, -30, -32, -34), 0.55, 0.6,
                      NoiseBand(500, 2500, 0.04, -20)),
        "te": TrebleStroke((-4, 0, -2, -5, -8, -10, -12, -14, -16), 0.07, 0.3,
                           NoiseBand(1200, 6e3, 0.05, -8)),
    },
    # The air in the pot, by its mouth.
    Bass(118, 108, 0.05, 0.5, (1, 2.4, 3.9), (0, -18, -26), NoiseBand(200, 1200, 0.05, -14)),
    NoiseBand(300, 2500, 0.07, 0),
)  # fmt: skip
CAJON = Drum(
    BOX,
    0,
    {
        "na": TrebleStroke((-10, -4, -2, 0, -4, -6, -8, -10, -12), 0.18, 0.4,
                           NoiseBand(1500, 9e3, 0.11, -6)),
        "tin": TrebleStroke((-6, -3, 0, -4, -7, -9, -11, -14, -16), 0.2, 0.4,
                      NoiseBand(1200, 7e3, 0.09, -11)),
        "tun": TrebleStroke((0, -3, -6, -9, -12, -15, -18, -20, -22), 0.22, 0.4,
                      NoiseBand(600, 4e3, 0.07, -13)),
        "te": TrebleStroke((-8, -3, 0, -2, -5, -8, -10, -12, -14), 0.07, 0.3,
                           NoiseBand(1e3, 7e3, 0.05, -8)),
    },
    Bass(92, 80, 0.04, 0.45, (1, 2.2, 3.4), (0, -14, -20), NoiseBand(150, 900, 0.06, -12)),
    NoiseBand(200, 1800, 0.07, 0),
)  # fmt: skip

DRUMS: dict[str, Drum] = {
    "tabla": TABLA, "pakhawaj": PAKHAWAJ, "mridangam": MRIDANGAM, "dholak": DHOLAK,
    "kanjira": KANJIRA, "ghatam": GHATAM, "cajon": CAJON, "frame-drum": FRAME, "congas": CONGAS,
}  # fmt: skip
"""The hand drums of the catalogue."""


def stroke(drum: str, sound: str, velocity: int, hz: float) -> Wave:
    """Return a stroke of a hand drum, shape (frames,): as long as it rings, ending in exact zero.

    ``sound`` is na, tin, tun, te, ge or ke; ``hz`` the pitch of the treble drum (which partial
    that is: see above). Harder is louder and brighter: at velocity 127 the peak is 0.66 to 0.8.

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
