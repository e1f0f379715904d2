"""A score in frames and hertz: the first frame and the frequency of each sound.

Time is that of the MIDI file: a beat is whole microseconds long. Players are a few milliseconds
and, in unison, a few cents apart (``ensemble``), unless all is to be plain. Everything is tuned,
even instruments that cannot be on a stage (a piano), so that practising players hear the mode.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from cyclechart.arrange.clock import Clock
from cyclechart.arrange.score import Part, Score, is_plucked
from cyclechart.catalog.roles import Role
from cyclechart.catalog.strokes import strokes
from cyclechart.sound.rate import RATE
from cyclechart.theory.tuning import A4_HZ, A4_MIDI, Tuning
from cyclechart.write.audio.ensemble import (
    chord_delays,
    moved_starts,
    player_lags,
    unison_cents,
)
from cyclechart.write.audio.variation import variants_of

KIT = "drum-kit"
TREBLE_HZ = 370.0
"""The highest pitch of a treble hand drum: it is tuned to Sa, or to the Sa an octave below where
that lies higher (common practice: such drums are made for C to F sharp or so; from memory)."""


@dataclass(frozen=True, slots=True)
class Tone:
    """A pitched sound: its first frame, the frames it is held, its hertz, its velocity 1 to 127.

    ``curve``: (frame from its start, cents from ``hz``), joined by straight lines. ``joined``: it
    goes on in the breath or bow of the tone before it, without an attack of its own.
    ``string``: the number of the drone's string that sounds it.
    """

    start: int
    frames: int
    hz: float
    velocity: int
    curve: tuple[tuple[int, float], ...] = ()
    joined: bool = False
    string: int = 0


@dataclass(frozen=True, slots=True)
class Stroke:
    """A drum sound. ``sound``: the name of a sound of the hand drum, or a key of the kit;
    ``variant``: which of the renderings of one stroke, from 0, for no two neighbours are alike."""

    start: int
    sound: str | int
    velocity: int
    variant: int = 0


@dataclass(frozen=True)
class PartEvents:
    """The tones and strokes of one player. ``hz``: the tuning of their drum, 0 without one;
    ``program``: a General MIDI program from 0, None for drums."""

    name: str
    role: Role
    voice: str
    tones: tuple[Tone, ...]
    strokes: tuple[Stroke, ...]
    hz: float = 0.0
    program: int | None = None

    @property
    def plucked(self) -> bool:
        """True if the part is the plucked strings of a drone."""
        return is_plucked(self.role, self.voice)


@dataclass(frozen=True)
class Performance:
    """The events of all players. ``frames``: the length of the piece; the last sounds ring on."""

    parts: tuple[PartEvents, ...]
    frames: int


def frame_at(clock: Clock, time: Fraction) -> int:
    """Return the frame nearest to a time in beats: at most 12 microseconds from it."""
    return round(clock.seconds(time) * RATE)


def performance_of(score: Score, *, plain: bool = False) -> Performance:
    """Return the performance of a score.

    ``plain``: on the grid and in tune to the last digit, every stroke alike, as for a click.
    """
    clock = Clock(score.tempos)
    exact = [0.0] * len(score.parts)
    lags, cents = (exact, exact) if plain else (player_lags(score.parts), unison_cents(score))
    parts = tuple(
        _part_events(score, part, clock, _Playing(lag, off, plain))
        for part, lag, off in zip(score.parts, lags, cents, strict=True)
    )
    return Performance(parts, frame_at(clock, score.end))


def hertz(midi: int, pitch: int, tuning: Tuning) -> float:
    """Return the frequency of a pitch over a Sa on a MIDI key, in hertz (A4 is 440)."""
    return float(A4_HZ * 2 ** ((midi - A4_MIDI) / 12) * 2 ** (tuning.above_sa(pitch) / 1200))


class _Playing(NamedTuple):
    """How a player plays: ``lag`` in milliseconds, ``cents`` off the piece's tuning; ``exact``: on
    the grid."""

    lag: float
    cents: float
    exact: bool


def _part_events(score: Score, part: Part, clock: Clock, playing: _Playing) -> PartEvents:
    written = [*(one.start for one in part.sounds), *(one.start for one in part.hits)]
    starts = [frame_at(clock, start) for start in written]
    exact = playing.exact or part.role.is_drone or part.role.is_count
    moved = {} if exact else moved_starts(part.name, starts, playing.lag)
    tones = tuple(_tones(score, part, clock, moved, playing))
    if not part.hits:
        return PartEvents(part.name, part.role, part.voice, tones, (), 0.0, part.program)
    hz = hertz(score.tonic.midi, 0, score.tuning)
    while hz > TREBLE_HZ:
        hz /= 2
    names = {sound.key: sound.name for by_hand in strokes().syllables.values() for sound in by_hand}
    by_hand = part.role.by_hand and part.voice != KIT
    sounds = [names[hit.key] if by_hand else hit.key for hit in part.hits]
    variants = [0] * len(sounds) if playing.exact else variants_of(sounds)
    hits = tuple(
        Stroke(moved.get(start, start), sound, hit.velocity, variant)
        for start, hit, sound, variant in zip(
            starts[len(part.sounds) :], part.hits, sounds, variants, strict=True
        )
    )
    return PartEvents(part.name, part.role, part.voice, tones, hits, hz, part.program)


def _tones(
    score: Score, part: Part, clock: Clock, moved: Mapping[int, int], playing: _Playing
) -> Iterator[Tone]:
    starts = [frame_at(clock, sound.start) for sound in part.sounds]
    ends = [frame_at(clock, sound.start + sound.length) for sound in part.sounds]
    delays = chord_delays(starts, part.sounds, part.program) if moved else [0] * len(starts)
    off = 2 ** (playing.cents / 1200)
    for at, (sound, written, end) in enumerate(zip(part.sounds, starts, ends, strict=True)):
        start = max(0, moved.get(written, written) + delays[at])
        after = at + 1
        if after < len(starts) and part.sounds[after].joined and starts[after] == end:
            frames = moved.get(end, end) - start
        else:
            frames = end - written
        base = score.tonic.midi if sound.base is None else sound.base
        curve = tuple(
            (frame_at(clock, sound.start + time) - written, 100 * by) for time, by in sound.curve
        )
        hz = hertz(base, sound.pitch, score.tuning) * off
        string = sound.voice if part.role.is_drone else 0
        # An excerpt may begin in the middle of a breath.
        joined = sound.joined and at > 0 and ends[at - 1] == written
        yield Tone(start, max(frames, 1), hz, sound.velocity, curve, joined, string)
