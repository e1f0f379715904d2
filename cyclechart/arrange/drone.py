"""The drone: four strings plucked slowly in turn, the first tuned by the mode.

The order is second tone, Sa, Sa, low Sa. The second tone is Pa, or Ma where the mode has no Pa,
or Ni where it has neither (common practice; see any account of the tanpura). The strings have a
slow pulse of their own that keeps to seconds, not to the cycle; where mode or tonic change in the
form they are retuned on the spot.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from cyclechart.arrange.score import Part, Sound
from cyclechart.arrange.timeline import Stretch, Timeline
from cyclechart.piece.player import Player
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import show_pitch

PLUCK_SECONDS = Fraction(1)
"""About so long from string to string (common practice: three to five seconds for four)."""

SOFT = 58


def strings(mode: Mode) -> tuple[int, int, int, int]:
    """The pitches of the four strings in the order they are plucked."""
    second = mode.drone_second
    return (second - 24 if second else -12, -12, -12, -24)


def drone(timeline: Timeline, player: Player) -> Part:
    """The strings from the first beat to the last, each ringing until its key is plucked again."""
    sounds: list[Sound] = []
    string = 0
    for tuned in _tuned_alike(timeline):
        first = tuned[0]
        base = None if first.tonic == timeline.stretches[0].tonic else first.tonic.midi
        pitches = [pitch + 12 * player.octave for pitch in strings(first.mode)]
        plucks = [time for stretch in tuned for time in _plucks(stretch)]
        again: dict[int, Fraction] = {}
        end = timeline.end if tuned[-1] is timeline.stretches[-1] else tuned[-1].end
        made = []
        for number, start in reversed(list(enumerate(plucks, start=string))):
            voice = number % len(pitches)
            pitch = pitches[voice]
            until = again.get(pitch, end)
            again[pitch] = start
            text = show_pitch(pitch)
            made.append(Sound(start, until - start, pitch, SOFT, text, voice, base))
        sounds += reversed(made)
        string += len(plucks)
    instrument = player.instrument
    return Part(player.name, "drone", instrument.program, tuple(sounds), bends=instrument.bends)


def _tuned_alike(timeline: Timeline) -> Iterator[list[Stretch]]:
    """The stretches in runs in which the strings stay as they are tuned."""
    run: list[Stretch] = []
    for stretch in timeline.stretches:
        if run and (strings(run[0].mode), run[0].tonic) != (strings(stretch.mode), stretch.tonic):
            yield run
            run = []
        run.append(stretch)
    if run:
        yield run


def _plucks(stretch: Stretch) -> list[Fraction]:
    """The plucks of a stretch: a whole number of beats apart, or an even part of a beat.

    Spaced from the start of the stretch, and anew at each gradual change by as much as it takes to
    stay near one time in seconds; the last gap is never left shorter than half a spacing. A stretch
    that takes no time has none.
    """
    if stretch.start == stretch.end:
        return []
    found: list[Fraction] = []
    at = stretch.start
    while True:
        spacing = _spacing(stretch.tempo_at(at))
        if found and stretch.end - at < spacing / 2:
            return found
        found.append(at)
        at += spacing
        if at >= stretch.end:
            return found


def _spacing(tempo: Fraction) -> Fraction:
    beats = tempo * PLUCK_SECONDS / 60
    if beats >= 1:
        return Fraction(max(1, round(beats)))
    return Fraction(1, max(1, round(1 / beats)))
