"""Variations of the theka: divided strokes, thinner and lighter forms, and fills into sam.

Every choice depends only on the piece's seed and the number of the cycle. Syllables are those of
the catalogue; no variation adds an open bass to an open section, and sam stays. The syllables that
divide a stroke are common practice, from memory; the order of variations is our own.
Soft strokes are damped ones, which are softer in the catalogue.
"""

from __future__ import annotations

import random
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import ceil
from typing import Literal

from cyclechart.arrange.roles.theka import SOLKATTU, ThekaStroke
from cyclechart.catalog.strokes import strokes
from cyclechart.theory.cycle import Cycle

Variation = Literal["plain", "filled", "light", "thinned", "doubled"]

EVERY = 4
"""Cycles from one fill to the next."""
PERIOD = 2 * EVERY
"""Cycles after which the choices repeat."""
QUARTER = Fraction(1, 4)
FASTEST_SECONDS = Fraction(3, 10)
"""Seconds of a beat: a shorter one is thinned."""
SLOWEST_SECONDS = Fraction(3, 2)
"""Seconds of a beat: a longer one is divided by soft strokes, one twice as long into four."""
FOUR_SECONDS = Fraction(7, 10)
"""Seconds of a beat: a shorter one is never divided into four."""
APART_SECONDS = Fraction(1, 8)
"""The fewest seconds between strokes of a thinned theka: eight a second (from memory)."""
DIVIDED_SHARE = 0.34
"""The share of whole strokes that are divided in a filled cycle."""

IN_TWO = {
    "dha": "dha ge", "dhin": "dhin na", "dhi": "dhi na", "na": "na te", "ta": "ta te",
    "tin": "tin na", "tun": "tun na", "tu": "tu na", "ge": "ge ge", "ke": "ke te", "ka": "ka te",
    "kat": "kat te", "din": "din te",
}  # fmt: skip
"""A stroke divided into itself and a light stroke."""
IN_FOUR = {
    "dha": "dha ge te te", "dhin": "dhi na gi na", "dhi": "dhi na gi na", "na": "ti ra ki ta",
    "ta": "ti ra ki ta", "tin": "tin na ki na", "tun": "tun na ki na", "kat": "ki ta ta ka",
}  # fmt: skip
WITHOUT_BASS = {
    "dha": "ta", "dhin": "tin", "dhi": "tin", "ge": "ke", "gi": "ki",
}  # fmt: skip
"""The stroke that replaces one with an open bass in an open section (as in tintal's third)."""
RUNS = (
    "te te dha ge te te dha ge",
    "dha ge te te dha ge te te",
    "dha ge na na dha ge ti te",
    "te te ge na dha ti dha ge",
)
"""Runs into sam; a short fill takes the end of its run."""
IN_TWO_SOUTH = {
    "na": "na dit", "ta": "ta dit", "dhin": "dhin na", "thin": "thin na", "nam": "nam dit",
}  # fmt: skip
IN_FOUR_SOUTH = {"na": "ta ri ki ta", "ta": "ta ri ki ta", "dhin": "dhin na dit na"}
RUNS_SOUTH = (
    "ki ta ta ka ta ri ki ta",
    "na dhin dhin na ta ri ki ta",
    "ta ka na dhin ta ri ki ta",
)
"""The same in a southern tala."""


@dataclass(frozen=True, slots=True)
class CyclePlan:
    """The plan of one cycle: its variation, and ``into_sam`` for a fill into the next sam."""

    variation: Variation
    into_sam: bool = False


def varied_theka(
    cycle: Cycle,
    pattern: tuple[ThekaStroke, ...],
    number: int,
    seed: int,
    beat_seconds: Fraction,
    variation: Variation | None = None,
) -> tuple[ThekaStroke, ...]:
    """Return the strokes of a cycle by its number (from 0), in a variation given or planned.

    ``beat_seconds`` is the length of a beat: strokes too fast to play are left out. With the seed 0
    nothing is varied by plan.
    """
    if variation is not None:
        return theka_variation(cycle, pattern, variation, number, seed, beat_seconds)
    if not seed:
        return pattern
    plan = cycle_plan(number, EVERY, seed)
    chosen: Variation = plan.variation
    if beat_seconds < FASTEST_SECONDS:
        chosen = "thinned"
    elif beat_seconds >= SLOWEST_SECONDS:
        chosen = "doubled"
    beats = theka_variation(cycle, pattern, chosen, number, seed, beat_seconds)
    if not plan.into_sam or beat_seconds < APART_SECONDS:
        return beats
    parts = 1 if beat_seconds < FASTEST_SECONDS else 2 if beat_seconds < FOUR_SECONDS else 4
    length = min(Fraction(4), 8 * FOUR_SECONDS / 2 / beat_seconds)
    return with_fill(cycle, beats, length, number, seed, parts, beat_seconds)


def theka_variation(
    cycle: Cycle,
    pattern: tuple[ThekaStroke, ...],
    variation: Variation,
    number: int,
    seed: int,
    beat_seconds: Fraction = Fraction(1),
) -> tuple[ThekaStroke, ...]:
    """Return one cycle of a theka in one variation; the same for the same number and seed.

    ``plain``: unchanged; ``filled``: some strokes divided into two or four; ``light``: only sam,
    section starts and stressed beats; ``thinned``: fewer strokes, for a quick beat; ``doubled``:
    more strokes, for a slow one.
    """
    if variation == "filled":
        dice = random.Random(f"{seed}-filled-{number % PERIOD}")
        if cycle.gati:
            return tuple(_gati_spoken(cycle, pattern, dice))
        return tuple(_some_divided(cycle, pattern, dice, beat_seconds))
    if variation == "light":
        return tuple(_light(cycle, pattern))
    if variation == "thinned":
        return tuple(_thinned(cycle, pattern, beat_seconds))
    if variation == "doubled":
        if cycle.gati:
            return tuple(_gati_spoken(cycle, pattern, None))
        damped = ("dit", "tat") if cycle.southern else ("te", "ke")
        return tuple(_doubled(pattern, 2 if beat_seconds < 2 * SLOWEST_SECONDS else 4, damped))
    return pattern


def with_fill(
    cycle: Cycle,
    pattern: tuple[ThekaStroke, ...],
    length: Fraction,
    number: int,
    seed: int,
    parts: int = 2,
    beat_seconds: Fraction = Fraction(1),
) -> tuple[ThekaStroke, ...]:
    """Return the cycle with its last beats as a run into sam, each beat in ``parts`` parts.

    The run takes at most ``length`` beats and a quarter of the cycle, in whole beats, but at least
    one; a cycle that would be nothing but a run is returned unchanged. In a cycle with a gati the
    parts are its pulses, where they can be played.
    """
    begin = _fill_start(cycle, length)
    if begin is None:
        return pattern
    kept = [
        replace(beat, length=min(beat.length, begin - beat.at))
        for beat in pattern
        if beat.at < begin
    ]
    if cycle.gati and beat_seconds >= cycle.gati * APART_SECONDS:
        parts = cycle.gati
    places: list[tuple[Fraction, Fraction, int]] = []
    for _, at, size in cycle.walk():
        if at >= begin:
            count = max(1, int(parts * size))
            each = size / count
            places += ((at + part * each, each, part) for part in range(count))
    pulses = SOLKATTU[cycle.gati].split() if parts == cycle.gati else []
    dice = random.Random(f"{seed}-run-{number % PERIOD}")
    filled = pattern
    runs = RUNS_SOUTH if cycle.southern or pulses else RUNS
    for text in dice.sample(runs, len(runs)):
        run = text.split() * (len(places) // len(text.split()) + 1)
        filled = tuple(kept) + tuple(
            ThekaStroke(
                at, each, _allowed_syllable(cycle, at, pulses[part] if pulses else syllable)
            )
            for (at, each, part), syllable in zip(places, run[-len(places) :], strict=True)
        )
        # A run equal to the theka's own end would not be a fill.
        if filled != pattern:
            break
    return filled


def is_open(cycle: Cycle, at: Fraction) -> bool:
    """Return True if a time (beats from sam) lies in an open section of the cycle, where the bass
    is silent; a southern wave is the hand's alone."""
    if cycle.southern:
        return False
    return cycle.starts[bisect_right(cycle.starts, at) - 1] + 1 in cycle.open


def cycle_plan(number: int, every: int, seed: int) -> CyclePlan:
    """Return the plan of a cycle by its number (from 0).

    A fill comes before every ``every``-th sam (0 for never). The cycle after a fill is plain, and
    the plans repeat after twice ``every`` cycles. With the seed 0 all cycles are plain.
    """
    if not seed:
        return CyclePlan("plain")
    into_sam = every > 0 and number % every == every - 1
    place = number % every if every else number
    period = 2 * every if every else PERIOD
    dice = random.Random(f"{seed}-turn-{number % period}")
    # Of two cycles at least one stays plain.
    filled = place % 2 == 1 and dice.random() < 0.8
    return CyclePlan("filled" if filled else "plain", into_sam)


def _fill_start(cycle: Cycle, length: Fraction) -> Fraction | None:
    """Return the beat on which a fill begins, or None where it would replace the whole cycle."""
    rooms = sorted(cycle.beats - at for _, at, _ in cycle.walk())
    whole = [room for room in rooms if 1 <= room < cycle.beats]
    if not whole:
        return None
    fitting = [room for room in whole if room <= min(length, cycle.beats * QUARTER)]
    return cycle.beats - (fitting[-1] if fitting else whole[0])


def _allowed_syllable(cycle: Cycle, at: Fraction, syllable: str) -> str:
    """Return the syllable for a place: without its bass in an open section."""
    return WITHOUT_BASS.get(syllable, syllable) if is_open(cycle, at) else syllable


def _some_divided(
    cycle: Cycle, beats: tuple[ThekaStroke, ...], dice: random.Random, seconds: Fraction
) -> Iterator[ThekaStroke]:
    """Yield the strokes, some of them divided into two or, where there is time, four; never sam."""
    twos, fours = (IN_TWO_SOUTH, IN_FOUR_SOUTH) if cycle.southern else (IN_TWO, IN_FOUR)
    for beat in beats:
        chosen = dice.random() < DIVIDED_SHARE
        in_four = dice.random() < DIVIDED_SHARE and seconds * beat.length >= FOUR_SECONDS
        table = fours if in_four and beat.syllable in fours else twos
        opened = is_open(cycle, beat.at)
        # A bass that the theka itself has in an open section is the lineage's own.
        own_bass = opened and strokes().open_bass(beat.syllable)
        if not (beat.at and chosen and beat.length >= 1 and beat.syllable in table) or own_bass:
            yield beat
            continue
        syllables = table[beat.syllable].split()
        each = beat.length / len(syllables)
        for part, syllable in enumerate(syllables):
            at = beat.at + part * each
            yield ThekaStroke(at, each, _allowed_syllable(cycle, at, syllable))


def _gati_spoken(
    cycle: Cycle, beats: tuple[ThekaStroke, ...], dice: random.Random | None
) -> Iterator[ThekaStroke]:
    """Yield the strokes, with every pulse of the gati in some beats (in all without ``dice``)."""
    names = SOLKATTU[cycle.gati].split()
    each = Fraction(1, cycle.gati)
    for at, size, inside in _by_beat(cycle, beats):
        chosen = dice is None or dice.random() < DIVIDED_SHARE
        ends = bool(inside) and inside[-1].at + inside[-1].length <= at + size
        stays = at == 0 and dice is not None
        if not (chosen and ends and size == 1 and inside[0].at == at) or stays:
            yield from inside
            continue
        for pulse, name in enumerate(names):
            yield ThekaStroke(at + pulse * each, each, name if pulse else inside[0].syllable)


def _light(cycle: Cycle, beats: tuple[ThekaStroke, ...]) -> Iterator[ThekaStroke]:
    """Yield only sam, the starts of sections and the stressed beats, each lasting to the next."""
    wanted = {Fraction(0), *cycle.starts, *(beat - 1 for beat in cycle.stressed)}
    kept = [beat for beat in beats if beat.at in wanted]
    ends = [*(beat.at for beat in kept[1:]), cycle.beats]
    for beat, end in zip(kept, ends, strict=True):
        yield replace(beat, length=end - beat.at)


def _thinned(
    cycle: Cycle, beats: tuple[ThekaStroke, ...], seconds: Fraction
) -> Iterator[ThekaStroke]:
    """Yield only the first stroke of a beat, and only every second beat or fewer where they are
    very quick."""
    step = max(1, ceil(APART_SECONDS / seconds))
    kept: list[ThekaStroke] = []
    section = Fraction(0)
    for at, _, inside in _by_beat(cycle, beats):
        section = at if at in cycle.starts else section
        if not inside or (kept and (at - section) % step):
            continue
        # A step may not fit its section: the next section's first stroke goes before.
        if kept and (at - kept[-1].at) * seconds < APART_SECONDS:
            if at not in cycle.starts or len(kept) == 1:
                continue
            kept.pop()
        kept.append(inside[0])
    ends = [*(beat.at for beat in kept[1:]), cycle.beats]
    for beat, end in zip(kept, ends, strict=True):
        # Every stroke lasts to the next one that is kept.
        yield beat if beat.at + beat.length == end else replace(beat, length=end - beat.at)


def _doubled(
    beats: tuple[ThekaStroke, ...], parts: int, damped: tuple[str, str]
) -> Iterator[ThekaStroke]:
    """Yield every stroke; one of a beat or more is followed by damped strokes (of the treble and
    the bass) each half or quarter of a beat."""
    for beat in beats:
        step = Fraction(1, parts)
        if beat.length < 1:
            yield beat
            continue
        yield replace(beat, length=step)
        count = ceil(beat.length / step)
        for part in range(1, count):
            at = beat.at + part * step
            length = min(step, beat.at + beat.length - at)
            yield ThekaStroke(at, length, damped[0] if part % 2 else damped[1])


def _by_beat(
    cycle: Cycle, beats: tuple[ThekaStroke, ...]
) -> Iterator[tuple[Fraction, Fraction, list[ThekaStroke]]]:
    """Yield the beats of the cycle with their strokes: (position, length, strokes)."""
    walked = [(at, size) for _, at, size in cycle.walk()]
    for (at, size), (until, _) in pairwise([*walked, (cycle.beats, Fraction(0))]):
        yield at, size, [beat for beat in beats if at <= beat.at < until]
