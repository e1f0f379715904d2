"""The drone: four strings plucked slowly in turn, the first tuned by the mode.

The order is second tone, Sa, Sa, low Sa. The second tone is Pa, or Ma where the mode has no Pa,
or Ni where it has neither (common practice; see any account of the tanpura).
"""

from __future__ import annotations

from fractions import Fraction

from cyclechart.arrange.score import Part, Sound
from cyclechart.arrange.timeline import Stretch, Timeline
from cyclechart.piece.model import DRONE
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import show_pitch

SITAR = 104
"""General MIDI program (from 0): the nearest it has to a tanpura."""

PLUCK_SECONDS = Fraction(1)
"""About so long from string to string (common practice: three to five seconds for four)."""

SOFT = 58


def strings(mode: Mode) -> tuple[int, int, int, int]:
    """The pitches of the four strings in the order they are plucked."""
    second = mode.drone_second
    return (second - 24 if second else -12, -12, -12, -24)


def drone(timeline: Timeline, mode: Mode) -> Part:
    """The strings from the first beat to the last, each ringing until its key is plucked again."""
    pitches = strings(mode)
    plucks = [time for stretch in timeline.stretches for time in _plucks(stretch)]
    sounds = []
    again: dict[int, Fraction] = {}
    for number, start in reversed(list(enumerate(plucks))):
        string = number % len(pitches)
        pitch = pitches[string]
        end = again.get(pitch, timeline.end)
        again[pitch] = start
        sounds.append(Sound(start, end - start, pitch, SOFT, show_pitch(pitch), string))
    return Part(DRONE, "drone", SITAR, tuple(reversed(sounds)))


def _plucks(stretch: Stretch) -> list[Fraction]:
    """The plucks of a stretch: a whole number of beats apart, or an even part of a beat.

    Spaced from the start of the stretch; the last gap is never left shorter than half a spacing.
    A stretch that takes no time has none.
    """
    if stretch.start == stretch.end:
        return []
    beats = stretch.tempo * PLUCK_SECONDS / 60
    if beats >= 1:
        spacing = Fraction(max(1, round(beats)))
    else:
        spacing = Fraction(1, max(1, round(1 / beats)))
    count = max(1, int((stretch.end - stretch.start) / spacing + Fraction(1, 2)))
    return [stretch.start + spacing * number for number in range(count)]
