"""A score: everything that sounds, on one timeline of exact beats from the very beginning."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from cyclechart.catalog.roles import Role
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tuning import Tuning


@dataclass(frozen=True, slots=True)
class Sound:
    """A pitched sound. ``pitch`` in semitones above middle Sa, ``velocity`` 1 to 127.

    ``voice`` parts what sounds at once in one player into monophonic voices (strings of a drone).
    ``base`` is the MIDI key of its middle Sa where that is not the score's (the tonic has moved).
    ``curve`` is how its pitch moves: (beats from its start, semitones from its tuned pitch), joined
    by straight lines, held from the last on; empty where it does not move.
    """

    start: Fraction
    length: Fraction
    pitch: int
    velocity: int
    text: str = ""
    voice: int = 0
    base: int | None = None
    curve: tuple[tuple[Fraction, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Hit:
    """A drum sound: ``key`` of the General MIDI percussion map. ``text`` is its syllable."""

    start: Fraction
    length: Fraction
    key: int
    velocity: int
    text: str = ""


@dataclass(frozen=True)
class Part:
    """What one player does. ``program`` is a General MIDI program from 0; None for drums.

    ``bends``: it can be tuned; without, its keys are equal-tempered (a piano). ``voice``: of the
    synthesiser, for a drum its name; "" for claps and waves.
    """

    name: str
    role: Role
    program: int | None
    sounds: tuple[Sound, ...] = ()
    hits: tuple[Hit, ...] = ()
    bends: bool = True
    voice: str = ""


@dataclass(frozen=True, slots=True)
class TempoMark:
    """From ``at`` on, so many beats a minute (exact)."""

    at: Fraction
    tempo: Fraction


@dataclass(frozen=True, slots=True)
class Meter:
    """From ``at`` on, bars of so many beats."""

    at: Fraction
    beats: Fraction


@dataclass(frozen=True, slots=True)
class Marker:
    """A named place on the timeline."""

    at: Fraction
    text: str


@dataclass(frozen=True, kw_only=True)
class Score:
    """A piece arranged: what it is called and tuned to, its marks and its parts."""

    title: str
    composer: str
    tonic: Tonic
    tuning: Tuning
    tempos: tuple[TempoMark, ...]
    meters: tuple[Meter, ...]
    markers: tuple[Marker, ...]
    parts: tuple[Part, ...]
    end: Fraction
