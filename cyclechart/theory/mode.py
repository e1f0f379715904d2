"""A mode (raga): its ascent and descent, the tones it leans on and its own phrases."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, NamedTuple

from cyclechart.theory.moves import Moves
from cyclechart.theory.tuning import JUST, JUST_TUNING, Tuning
from cyclechart.theory.ways import read_on

Width = Literal["wide", "small"]

REGISTERS = {
    "mandra": "the low octave",
    "purvang": "the lower half of the octave",
    "uttarang": "the upper half of the octave",
    "tar": "the high octave",
}


class PrintedForm(NamedTuple):
    """Another printed form of an ascent, a descent or both; () for a path that it does not give."""

    ascent: tuple[int, ...] = ()
    descent: tuple[int, ...] = ()
    source: str = ""


@dataclass(frozen=True, kw_only=True)
class Mode:
    """Paths and phrases are tuples of pitches (semitones above the middle Sa).

    ``vadi`` and ``samvadi`` are semitones 0 to 11 or None; ``rests`` likewise. Grammars differ by
    teacher and lineage; an entry's ``source`` says whose this is.
    """

    name: str
    ascent: tuple[int, ...]
    descent: tuple[int, ...]
    vadi: int | None = None
    samvadi: int | None = None
    rests: tuple[int, ...] = ()
    phrases: tuple[tuple[int, ...], ...] = ()
    hour: str = ""
    aka: tuple[str, ...] = ()
    source: str = ""
    note: str = ""
    family: str = ""
    tuning: Tuning | None = None
    """Its own, where it has one."""
    tuning_source: str = ""
    also: tuple[PrintedForm, ...] = ()
    """Other printed forms of its paths, as legal as the first."""
    drone: int | None = None
    """The tone (5, 7 or 11) of the drone's second string, where the entry gives it."""
    andolan: tuple[tuple[int, Width], ...] = ()
    """The tones that shake slowly of themselves, each with its width."""
    weak: tuple[int, ...] = ()
    """The tones that are not dwelt on."""
    register: str = ""
    """The part of the range where it lives, one of ``REGISTERS``; "" where nobody says so."""
    band_drone: int | None = None
    """The tone (0 to 11; 0: all strings are Sa) to which a player of the piece tunes the drone's
    second string; None leaves it to the mode."""

    def __hash__(self) -> int:
        """Return a hash of its name and paths: it is looked up far more often than two are alike
        in these and not in the rest."""
        return hash((self.name, self.ascent, self.descent))

    @cached_property
    def ascents(self) -> tuple[tuple[int, ...], ...]:
        """Every printed ascent, the first one first."""
        return self.ascent, *(form.ascent for form in self.also if form.ascent)

    @cached_property
    def descents(self) -> tuple[tuple[int, ...], ...]:
        """Every printed descent, the first one first."""
        return self.descent, *(form.descent for form in self.also if form.descent)

    @cached_property
    def ways(self) -> tuple[tuple[int, ...], ...]:
        """Its printed paths, each also read on through the octave."""
        rises = [way for path in self.ascents for way in read_on(path, 12)]
        return *rises, *(way for path in self.descents for way in read_on(path, -12))

    @cached_property
    def up(self) -> frozenset[int]:
        """The tones (0 to 11) of the ascents."""
        return frozenset(pitch % 12 for path in self.ascents for pitch in path)

    @cached_property
    def down(self) -> frozenset[int]:
        """The tones of the descents."""
        return frozenset(pitch % 12 for path in self.descents for pitch in path)

    @cached_property
    def tones(self) -> frozenset[int]:
        """Every tone that the ascent, the descent or a phrase holds."""
        held = {pitch % 12 for phrase in self.phrases for pitch in phrase}
        return self.up | self.down | held

    @cached_property
    def moves(self) -> Moves:
        """The table of its movement."""
        return Moves.of(self.ascents, self.descents, self.phrases)

    def sized(self, tone: int) -> tuple[str, float]:
        """A tone's ratio against Sa as text, and its size in cents: just, or as the mode's own
        tuning has it (no ratio, where that is not the just one)."""
        just = JUST_TUNING.cents[tone]
        own = just if self.tuning is None else self.tuning.cents[tone]
        return (str(JUST[tone]) if own == just else ""), own

    @property
    def as_defined(self) -> Mode:
        """The mode without the string of a band."""
        return self if self.band_drone is None else replace(self, band_drone=None)

    @property
    def drone_second(self) -> int:
        """The drone's second tone: that of the band's string, or the mode's own, or Pa, Ma, Ni in
        this order, as far as its paths have them (common practice)."""
        if self.band_drone is not None:
            return self.band_drone
        if self.drone is not None:
            return self.drone
        paths = self.up | self.down
        for candidate in (7, 5, 11, 10):
            if candidate in paths:
                return candidate
        return 0
