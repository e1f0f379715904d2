"""The score: every sound of a piece, in exact beats from the beginning."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from cyclechart.catalog.roles import Role
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tuning import Tuning


@dataclass(frozen=True, slots=True)
class Sound:
    """A pitched sound: ``pitch`` in semitones above middle Sa, ``velocity`` 1 to 127, times in
    beats.

    ``voice`` numbers the monophonic voices of one player (the strings of a drone). ``base`` is the
    MIDI key of its middle Sa where that differs from the score's (the tonic has moved). ``curve``
    gives the pitch over time as points (beats from its start, semitones from its tuned pitch),
    joined by straight lines and held after the last; empty for a steady pitch. ``joined``: it goes
    on in the breath or bow of the sound before it, without an attack of its own. ``swell``: the
    velocity that it gains (below 0: loses) evenly while it is held.
    """

    start: Fraction
    length: Fraction
    pitch: int
    velocity: int
    text: str = ""
    voice: int = 0
    base: int | None = None
    curve: tuple[tuple[Fraction, float], ...] = ()
    joined: bool = False
    swell: int = 0


@dataclass(frozen=True, slots=True)
class Hit:
    """A drum sound: times in beats, ``key`` of the General MIDI percussion map, ``velocity`` 1 to
    127; ``text`` is its syllable."""

    start: Fraction
    length: Fraction
    key: int
    velocity: int
    text: str = ""


PLUCKED = "lute"
"""The synthesiser's voice of plucked strings."""


def is_plucked(role: Role, voice: str) -> bool:
    """Return whether a role with a synthesiser's voice is the plucked strings of a drone."""
    return role.is_drone and voice == PLUCKED


@dataclass(frozen=True)
class Part:
    """The sounds of one player. ``program`` is a General MIDI program from 0; None for drums.

    ``bends``: False for an instrument of fixed equal-tempered pitch (a piano). ``voice``: the
    synthesiser's voice, for a drum its name; "" for claps and waves.
    """

    name: str
    role: Role
    program: int | None
    sounds: tuple[Sound, ...] = ()
    hits: tuple[Hit, ...] = ()
    bends: bool = True
    voice: str = ""

    @property
    def plucked(self) -> bool:
        """True if the part is the plucked strings of a drone; others (a shruti box) are blown."""
        return is_plucked(self.role, self.voice)


@dataclass(frozen=True, slots=True)
class TempoMark:
    """A tempo in beats a minute (exact), in force from beat ``at``."""

    at: Fraction
    tempo: Fraction


@dataclass(frozen=True, slots=True)
class Meter:
    """A length of bars in beats, in force from beat ``at``."""

    at: Fraction
    beats: Fraction


@dataclass(frozen=True, slots=True)
class Marker:
    """A text at beat ``at`` of the timeline."""

    at: Fraction
    text: str


@dataclass(frozen=True, kw_only=True)
class Score:
    """A piece arranged for its players: heading, tuning, marks and parts; ``end`` in beats."""

    title: str
    composer: str
    tonic: Tonic
    tuning: Tuning
    tempos: tuple[TempoMark, ...]
    meters: tuple[Meter, ...]
    markers: tuple[Marker, ...]
    parts: tuple[Part, ...]
    end: Fraction
