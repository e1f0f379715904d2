"""The theka varied, as a drummer keeps an ensemble awake: filled, thinned, and led into sam.

Every choice hangs on the piece's seed and the number of the cycle alone. Syllables are those of the
catalogue; an open bass never enters an open section. Which variation follows on which is ours.
"""

from __future__ import annotations

import random
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from cyclechart.arrange.theka import Beat
from cyclechart.theory.cycle import Cycle

Way = Literal["plain", "filled", "light"]

EVERY = 4
"""A fill leads into every so many-th sam."""
QUARTER = Fraction(1, 4)
FASTEST_SECONDS = Fraction(3, 10)
"""A shorter beat is not filled, and its quick strokes are thinned."""

IN_TWO = {
    "dha": ("dha", "ge"), "dhin": ("dhin", "na"), "dhi": ("dhi", "na"), "na": ("na", "te"),
    "ta": ("ta", "te"), "tin": ("tin", "na"), "ti": ("ti", "te"), "tun": ("tun", "na"),
}  # fmt: skip
"""A stroke and what lightly follows it within its beat (common practice; from memory)."""
OPEN_IN_TWO = {
    "dha": ("ta", "te"), "dhin": ("tin", "na"), "dhi": ("tin", "na"), "na": ("na", "te"),
    "ta": ("ta", "ke"), "tin": ("tin", "na"), "ti": ("ti", "te"), "tun": ("tun", "na"),
}  # fmt: skip
"""The same without the bass."""
FILL = ("te", "te", "dha", "ge", "te", "te", "dha", "ge")
"""A run that comes home to sam with the bass rising in it, half a beat each."""
OPEN_FILL = ("te", "te", "ta", "ke", "te", "te", "ta", "ke")


def varied(
    cycle: Cycle,
    pattern: tuple[Beat, ...],
    number: int,
    seed: int,
    beat_seconds: Fraction,
    way: Way | None = None,
) -> tuple[Beat, ...]:
    """The strokes of the cycle of a number (from 0), which varies by itself where no way is given.

    ``beat_seconds`` is how long a beat lasts: what nobody could play is left out. With the
    seed 0 the theka stays as it is.
    """
    quick = beat_seconds < FASTEST_SECONDS
    if not seed and way is None:
        return pattern
    if way == "light":
        return tuple(_light(cycle, pattern))
    if quick:
        return tuple(_thinned(pattern))
    beats = pattern
    if way == "filled" or (way is None and number % 2 == 1):
        beats = tuple(_filled(cycle, beats, random.Random(f"{seed}-{number % (2 * EVERY)}")))
    if way is None and number % EVERY == EVERY - 1:
        beats = tuple(_led(cycle, beats))
    return beats


def is_open(cycle: Cycle, at: Fraction) -> bool:
    """Whether a time within the cycle lies in an open section."""
    return cycle.starts[bisect_right(cycle.starts, at) - 1] + 1 in cycle.open


def _filled(cycle: Cycle, beats: tuple[Beat, ...], dice: random.Random) -> Iterator[Beat]:
    """About every third whole stroke parted in two, sam apart."""
    for beat in beats:
        pairs = OPEN_IN_TWO if is_open(cycle, beat.at) else IN_TWO
        chosen = dice.random() < 0.34
        if not beat.at or not chosen or beat.length < 1 or beat.syllable not in pairs:
            yield beat
            continue
        half = beat.length / 2
        first, second = pairs[beat.syllable]
        yield Beat(beat.at, half, first)
        yield Beat(beat.at + half, half, second)


def _light(cycle: Cycle, beats: tuple[Beat, ...]) -> Iterator[Beat]:
    """Sam and the beginnings of sections alone, each ringing on."""
    starts = [*cycle.starts, cycle.beats]
    known = {beat.at: beat for beat in beats}
    for start, following in pairwise(starts):
        if start in known:
            yield replace(known[start], length=following - start)


def _thinned(beats: tuple[Beat, ...]) -> Iterator[Beat]:
    """Of strokes within one beat the first alone."""
    kept: Beat | None = None
    for beat in beats:
        if kept is not None and beat.at // 1 == kept.at // 1 and beat.length < 1:
            kept = replace(kept, length=beat.at + beat.length - kept.at)
            continue
        if kept is not None:
            yield kept
        kept = beat
    if kept is not None:
        yield kept


def _led(cycle: Cycle, beats: tuple[Beat, ...]) -> Iterator[Beat]:
    """The last beats, a quarter of the cycle at most and four beats, as a run into sam."""
    room = Fraction(min(4, max(1, int(cycle.beats * QUARTER))))
    begin = cycle.beats - room
    if not begin > 0:
        yield from beats
        return
    for beat in beats:
        if beat.at < begin:
            yield replace(beat, length=min(beat.length, begin - beat.at))
    half = Fraction(1, 2)
    count = int(room / half)
    # So that the run ends as it always does, whatever the room.
    for number, pair in enumerate(zip(FILL[-count:], OPEN_FILL[-count:], strict=True)):
        at = begin + number * half
        yield Beat(at, half, pair[is_open(cycle, at)])
