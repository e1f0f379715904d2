"""The drum kit: the strokes of the hand drums, given to two hands and two feet.

The open bass goes to the kick, the treble to the snare's rim or, where stressed, its head; one hand
keeps the cymbal. Open sections have no kick. The mapping as a whole is common practice; its details
are our own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from cyclechart.arrange.roles.band_hits import BandHit
from cyclechart.arrange.score import Hit
from cyclechart.catalog.kit import DRUM, DRUMS, FASTEST, Limb
from cyclechart.catalog.strokes import DrumSound

KICK, SNARE, RIM, GHOST, HAT, PEDAL, RIDE, OPEN_HAT, CRASH = (
    DRUM[name].key
    for name in (
        "kick", "snare", "rim", "ghost", "hat", "foot", "ride", "open-hat", "crash"
    )
)  # fmt: skip
"""The percussion keys of what the kit has for the strokes of the hand drums."""

KIT = {drum.key: drum.name for drum in DRUMS}
"""The name of each drum in a written part, by its percussion key."""

SHORT = Fraction(1, 2)
"""The longest hit, in beats, that is struck with the snare."""

SPARE = -30
"""The lift (that of pp) at or under which the cymbal only marks sections."""

LIMBS: dict[int, Limb] = {drum.key: drum.limb for drum in DRUMS}
"""The limb that plays each drum, for a right-handed drummer."""


@dataclass(frozen=True, slots=True)
class HandStroke:
    """A stroke of the hand drums to be played on the kit: times in beats, ``lift`` in velocity."""

    start: Fraction
    end: Fraction
    sounds: tuple[DrumSound, ...]
    lift: int
    open: bool
    """True in an open section."""
    seconds: Fraction
    """Seconds of a beat there."""


@dataclass(frozen=True, slots=True)
class Pulse:
    """A beat of the cycle for the cymbal hand and the left foot: ``at`` and ``length`` in beats,
    ``seconds`` the length of a beat."""

    at: Fraction
    length: Fraction
    open: bool
    begins_section: bool
    seconds: Fraction
    lift: int = 0
    """Velocity added by the step's dynamics."""


def kit_hits(
    strokes: Iterable[HandStroke],
    pulses: Sequence[Pulse],
    band_hits: Iterable[tuple[BandHit, Fraction]] = (),
) -> list[Hit]:
    """Return the kit's hits in order: one at a time for each limb, and no faster than it can play.

    ``band_hits``: what the whole band hits, each with the seconds of a beat there: short hits with
    the snare, long ones with a cymbal (common practice; from memory).
    """
    wanted: list[tuple[Hit, Fraction]] = []
    for band_hit, seconds in band_hits:
        loud = CRASH if band_hit.length > SHORT else SNARE
        wanted += [(Hit(band_hit.at, Fraction(1), key, 110, ""), seconds) for key in (loud, KICK)]
    for stroke in strokes:
        wanted += ((hit, stroke.seconds) for hit in _drum_hits(stroke))
    for pulse in pulses:
        wanted += ((hit, pulse.seconds) for hit in _time_hits(pulse))
    return list(_playable_hits(wanted))


def _drum_hits(stroke: HandStroke) -> Iterator[Hit]:
    """Yield the kick and the snare of one stroke."""
    length = stroke.end - stroke.start
    hands = {sound.hand: sound for sound in stroke.sounds}
    bass, treble = hands.get("bass"), hands.get("treble")
    if bass is not None and bass.ring == "open" and not stroke.open:
        yield Hit(stroke.start, length, KICK, _velocity(bass.velocity - 4 + stroke.lift), "")
    if treble is not None:
        accented = stroke.lift > 0 and treble.ring == "open" and bass is None
        key = SNARE if accented else RIM if treble.ring == "open" else GHOST
        soft = -10 if key == RIM else -40 if key == GHOST else -16
        yield Hit(stroke.start, length, key, _velocity(treble.velocity + soft + stroke.lift), "")


def _time_hits(pulse: Pulse) -> Iterator[Hit]:
    """Yield the cymbal on a beat, and on its half where there is time; the left foot where an open
    section begins."""
    half = pulse.length / 2
    key = HAT if pulse.open else RIDE
    loud = _velocity((70 if pulse.begins_section else 56) + pulse.lift)
    quiet = pulse.lift <= SPARE
    if not quiet or pulse.begins_section:
        yield Hit(pulse.at, pulse.length, key, loud, "")
    if pulse.length == 1 and pulse.seconds >= Fraction(1, 2) and not quiet:
        yield Hit(pulse.at + half, half, key, _velocity(40 + pulse.lift), "")
    if pulse.begins_section and pulse.open:
        yield Hit(pulse.at, pulse.length, PEDAL, _velocity(58 + pulse.lift), "")


def _playable_hits(wanted: list[tuple[Hit, Fraction]]) -> Iterator[Hit]:
    """Yield the hits that the limbs can play: of two too close for one limb, the louder."""
    by_limb: dict[Limb, list[tuple[Hit, Fraction]]] = {}
    for hit, seconds in sorted(wanted, key=lambda item: (item[0].start, -item[0].velocity)):
        limb = LIMBS[hit.key]
        done = by_limb.setdefault(limb, [])
        if done:
            last, beat = done[-1]
            if (hit.start - last.start) * min(seconds, beat) < FASTEST[limb]:
                if hit.velocity > last.velocity and hit.start > last.start and len(done) > 1:
                    before, earlier = done[-2]
                    if (hit.start - before.start) * min(seconds, earlier) >= FASTEST[limb]:
                        done[-1] = (hit, seconds)
                continue
        done.append((hit, seconds))
    hits = [hit for done in by_limb.values() for hit, _ in done]
    yield from sorted(hits, key=lambda hit: (hit.start, hit.key))


def _velocity(velocity: int) -> int:
    return max(1, min(127, velocity))
