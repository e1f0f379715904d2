"""The plucks of a drone as a hand plays them: a little early or late, a little softer or louder.

Each is beside its even place, which is counted on evenly, so that the pulse never drifts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from random import Random

from cyclechart.arrange.roles.drone import halvings
from cyclechart.arrange.score import Part, Sound
from cyclechart.arrange.timeline import Timeline

MOST_SECONDS = 0.07
"""Seconds that a pluck is early or late at most; 0.03 as a rule (our choice)."""
MOST_VELOCITY = 8
"""The steps of velocity that it is softer or louder at most."""
FINEST_SECONDS, FINEST_PARTS = Fraction(1, 128), 256
"""A beat is halved for the plucks until its parts are no longer than this, or so many."""


def varied_plucks(part: Part, timeline: Timeline) -> Part:
    """Return a drone's part with plucks that differ in time and force.

    A part that is not that of a plucked drone is returned as it is.
    """
    if not part.plucked:
        return part
    beats = [_beat_seconds(timeline, sound.start) for sound in part.sounds]
    return replace(part, sounds=varied_sounds(part.sounds, beats, part.name))


def varied_sounds(
    sounds: Sequence[Sound], beat_seconds: Sequence[Fraction], seed: str
) -> tuple[Sound, ...]:
    """Return the sounds of a drone with plucks that differ in time and force, by a seed.

    ``beat_seconds``: the seconds of a beat at each. Where strings start afresh, at the beginning
    and where they are tuned anew, the first pluck stays in its place. A string rings on until it,
    or another of its pitch, is plucked.
    """
    random = Random(f"drone {seed}")
    moved = {}
    velocities = []
    for sound, seconds, afresh in zip(sounds, beat_seconds, _start_afresh(sounds), strict=True):
        late = _between(random) * MOST_SECONDS
        moved[sound.start] = sound.start if afresh else sound.start + _in_beats(late, seconds)
        velocities.append(
            max(1, min(127, sound.velocity + round(_between(random) * MOST_VELOCITY)))
        )
    return tuple(
        replace(
            sound,
            start=moved[sound.start],
            length=moved.get(end, end) - moved[sound.start],
            velocity=velocity,
        )
        for sound, velocity in zip(sounds, velocities, strict=True)
        for end in [sound.start + sound.length]
    )


def _between(random: Random) -> float:
    """Return a number from -1 to 1, more often near 0."""
    return random.random() - random.random()


def _start_afresh(sounds: Sequence[Sound]) -> Iterator[bool]:
    """Yield for each sound of a drone, in order, True if nothing rings on over its start."""
    until = Fraction(0)
    for sound in sounds:
        yield until <= sound.start
        until = max(until, sound.start + sound.length)


def _beat_seconds(timeline: Timeline, time: Fraction) -> Fraction:
    return 60 / timeline.at(time).tempo_at(time)


def _in_beats(seconds: float, beat_seconds: Fraction) -> Fraction:
    """Return seconds as beats, on a grid of halves of halves of a beat."""
    parts = halvings(beat_seconds, FINEST_SECONDS, FINEST_PARTS)
    return Fraction(round(seconds * parts / float(beat_seconds)), parts)
