"""The hand drums as numbers: the partials of their heads, the decay of each stroke, the noise.

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

StrokeName = Literal["na", "tin", "tun", "te", "ge", "ke"]
SOUNDS: tuple[StrokeName, ...] = ("na", "tin", "tun", "te", "ge", "ke")

LOADED = (1.01, 2.0, 2.996, 4.004, 4.997, 3.03, 4.05, 6.15, 7.4)
"""Partials of a head loaded in its middle. Those after the fifth are the twins that a real head has
of 3 and 4, and the partials above, which the load no longer tunes. Partial 1 solved for a
two-density head lies at 1.07; it is taken nearer to 1, where drums are voiced to be in tune."""
PLAIN = (1.0, 1.593, 2.136, 2.295, 2.653, 2.917, 3.156, 3.500, 3.600)
"""Zeros of J0, J1, J2, J0, J3, J1, J4, J2, J0 by the first (2.405): an even membrane in vacuum."""
WIDE = (1.0, 1.593, 2.136, 2.295, 2.653, 2.917, 3.500, 4.059, 4.831)
"""Zeros of J0, J1, J2, J0, J3, J1, J2, J3, J2 by the first: the same head to higher modes."""
POT = (1.0, 1.86, 2.71, 3.94, 5.2, 6.9, 8.3, 9.8, 11.5)
"""A fired pot struck on its side: no near harmonics (a guess by ear; no source)."""
BOX = (1.0, 1.47, 2.09, 2.56, 3.11, 3.77, 4.6, 5.7, 6.8)
"""A thin plate nailed to a box (a guess by ear; no source)."""


REED = tuple(float(number) for number in range(1, 10))
"""A plucked reed and a voice: whole harmonics."""


HAMMER = 13.0
"""dB by which a partial an octave higher gains on the lower one from no force to all."""


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
    ``noise``: that of the hand; ``hammer``: see ``HAMMER``.
    """

    db: tuple[float, ...]
    t60: float
    faster: float
    noise: NoiseBand
    hammer: float = HAMMER


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
    contact: float = 0.0
    """dB by which the burst of its contact is louder than ``CONTACTS`` has it."""
    jingles: float | None = None
    """Level in dB of the jingles in the rim, if there are any."""


CONTACTS: dict[StrokeName, NoiseBand] = {
    # Two fingers on the edge; the fingertips on the middle, where they stay; the flat hand.
    "na": NoiseBand(1400, 9e3, 0.016, -13.5),
    "tin": NoiseBand(1200, 8e3, 0.016, -12.5),
    "tun": NoiseBand(700, 5e3, 0.020, -19),
    "te": NoiseBand(1000, 8e3, 0.020, -9),
    "ge": NoiseBand(500, 5e3, 0.020, -19),
    "ke": NoiseBand(600, 6e3, 0.022, -6),
}
"""The burst as finger or palm meet the head, for a force of ``MODEL_FORCE``: its level is that of
its energy against the head's in the first 15 ms (sampled congas and bongos have -15 to -19 dB of it
above 2 kHz; measured)."""
MODEL_FORCE = 0.75
"""The force, 0 to 1, for which the levels of partials are given."""

TABLA = Drum(
    LOADED,
    1,
    {
        # The first partial is 34 and 20 dB down: the ring finger lies on the head.
        "na": TrebleStroke((-34, 0, -3, -6, -9, -9, -14, -16, -20), 1.1, 0.75,
                           NoiseBand(2e3, 7e3, 0.04, -22)),
        "tin": TrebleStroke((-20, 0, -9, -13, -19, -17, -22, -31, -37), 1.5, 0.9,
                      NoiseBand(800, 3e3, 0.03, -28), hammer=27),
        "tun": TrebleStroke((0, -13, -16, -22, -28, -22, -30, -36, -42), 1.3, 0.9,
                      NoiseBand(400, 1500, 0.03, -26), hammer=22),
        "te": TrebleStroke((-14, 0, -5, -8, -12, -8, -12, -14, -16), 0.12, 0.3,
                           NoiseBand(700, 4e3, 0.09, -9)),
    },
    # 79 to 92 Hz, higher if pressed. Small loudspeakers play the partials from the fifth up: near
    # whole multiples, they are heard as the low tone that is missing.
    Bass(79, 92, 0.16, 1.5, (1, 2.0, 2.98, 4.03, 5.05, 6.1, 7.12, 8.2, 9.3),
         (0, -8, -11, -12, -14, -15, -17, -20, -23), NoiseBand(150, 900, 0.05, -20), pressed=1.28),
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
    bass=Bass(0.515, 0.5, 0.08, 0.9, (1, 1.7, 2.3, 3.0, 3.8, 4.7, 5.6),
              (0, -13, -16, -18, -20, -22, -24), NoiseBand(150, 800, 0.06, -16), tuned=True),
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
    bass=Bass(0.53, 0.5, 0.12, 1.5, (1, 1.65, 2.2, 2.9, 3.7, 4.6, 5.5),
              (0, -12, -15, -18, -20, -22, -24), NoiseBand(100, 700, 0.07, -16), tuned=True),
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
    Bass(72, 98, 0.2, 1.1, (1, 1.62, 2.2, 2.7, 3.5, 4.4, 5.3, 6.2),
         (0, -11, -14, -16, -17, -19, -21, -23), NoiseBand(150, 1000, 0.06, -17), pressed=1.25),
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
    bass=Bass(0.68, 0.667, 0.05, 0.8, WIDE, (0, -7, -14, -15, -17, -19, -21, -23, -25),
              NoiseBand(150, 900, 0.05, -18), tuned=True),
    slap=NoiseBand(200, 1800, 0.12, 0),
)  # fmt: skip
FRAME = replace(
    DHOLAK,
    treble=_treble_of(DHOLAK, 1.6, -3, 0.1),
    # One wide head: the bass is its middle, the treble its rim.
    bass=Bass(0.36, 0.345, 0.06, 1.2, WIDE, (0, -8, -13, -14, -16, -17, -19, -21, -23),
              NoiseBand(120, 800, 0.06, -18), tuned=True),
    slap=NoiseBand(250, 3e3, 0.11, 0),
)  # fmt: skip
KANJIRA = replace(
    DHOLAK,
    treble=_treble_of(DHOLAK, 0.7, 2, 0.0),
    # One small head whose middle is pressed: it glides far.
    bass=Bass(86, 134, 0.14, 0.8, (1, 1.6, 2.1, 2.6, 3.4, 4.3, 5.3),
              (0, -10, -14, -16, -18, -20, -22), NoiseBand(200, 1200, 0.05, -16), pressed=1.15),
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
    Bass(92, 80, 0.04, 0.45, (1, 2.2, 3.4, 4.7, 6.1), (0, -12, -16, -18, -20),
         NoiseBand(150, 900, 0.06, -12)),
    NoiseBand(200, 1800, 0.07, 0),
    contact=-5,
)  # fmt: skip

THAVIL = replace(
    DHOLAK,
    # Tight heads: the fingers in hard caps on one side, a stick on the other.
    treble=_treble_of(DHOLAK, 0.65, 4, -0.1),
    bass=Bass(128, 118, 0.05, 0.6, WIDE, (0, -6, -11, -12, -14, -16, -18, -20, -22),
              NoiseBand(300, 2500, 0.05, -11)),
    slap=NoiseBand(300, 3500, 0.09, 0),
)  # fmt: skip
MORSING = Drum(
    REED,
    0,
    {
        # One reed: the mouth brings out its upper partials, an open one the lower.
        "na": TrebleStroke((-8, -6, -4, 0, -2, -1, -4, -6, -8), 0.7, 0.25,
                           NoiseBand(2e3, 7e3, 0.03, -20)),
        "tin": TrebleStroke((-4, -4, 0, -2, -6, -8, -12, -14, -16), 0.8, 0.3,
                      NoiseBand(1500, 5e3, 0.03, -22)),
        "tun": TrebleStroke((0, -2, -8, -12, -16, -18, -22, -24, -26), 0.8, 0.3,
                      NoiseBand(600, 3e3, 0.04, -22)),
        "te": TrebleStroke((-8, -4, 0, -2, -4, -6, -8, -10, -12), 0.1, 0.2,
                           NoiseBand(1200, 6e3, 0.05, -10)),
    },
    # It has no bass: the breath, an octave below the tone that stands for the treble.
    Bass(0.5, 0.5, 0.05, 0.9, (1, 2, 3, 4), (0, -8, -14, -20), NoiseBand(200, 1200, 0.08, -16),
         tuned=True),
    NoiseBand(250, 2200, 0.08, 0),
    contact=-8,
)  # fmt: skip
KONNAKOL = Drum(
    REED,
    1,
    {
        # A voice that says na, ti, tu, and a consonant alone: bright, narrow and dark vowels.
        "na": TrebleStroke((-10, -8, -5, -2, 0, -1, -4, -6, -10), 0.32, 0.1,
                           NoiseBand(1800, 6e3, 0.03, -16)),
        "tin": TrebleStroke((-4, 0, -6, -10, -14, -16, -14, -12, -10), 0.3, 0.1,
                      NoiseBand(2500, 8e3, 0.03, -14)),
        "tun": TrebleStroke((-2, 0, -3, -8, -14, -20, -24, -26, -28), 0.34, 0.1,
                      NoiseBand(1200, 4e3, 0.03, -18)),
        "te": TrebleStroke((-8, -3, -2, 0, -3, -5, -6, -8, -10), 0.1, 0.1,
                           NoiseBand(2e3, 8e3, 0.05, -8)),
    },
    Bass(0.5, 0.48, 0.1, 0.5, (1, 2, 3, 4), (-4, 0, -6, -14), NoiseBand(200, 1500, 0.04, -16),
         tuned=True),
    NoiseBand(500, 3e3, 0.08, 0),
    contact=-5,
)  # fmt: skip

DRUMS: dict[str, Drum] = {
    "tabla": TABLA, "pakhawaj": PAKHAWAJ, "mridangam": MRIDANGAM, "dholak": DHOLAK,
    "kanjira": KANJIRA, "ghatam": GHATAM, "cajon": CAJON, "frame-drum": FRAME, "congas": CONGAS,
    "thavil": THAVIL, "morsing": MORSING, "konnakol": KONNAKOL,
}  # fmt: skip
"""The hand drums of the catalogue."""
