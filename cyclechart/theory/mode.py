"""A mode (raga): its ascent and descent, the tones it leans on and its own phrases."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from cyclechart.theory.moves import Moves
from cyclechart.theory.tuning import JUST, JUST_TUNING, Tuning


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

    @cached_property
    def up(self) -> frozenset[int]:
        """The tones (0 to 11) of the ascent."""
        return frozenset(pitch % 12 for pitch in self.ascent)

    @cached_property
    def down(self) -> frozenset[int]:
        """The tones of the descent."""
        return frozenset(pitch % 12 for pitch in self.descent)

    @cached_property
    def tones(self) -> frozenset[int]:
        """Every tone that the ascent, the descent or a phrase holds."""
        held = {pitch % 12 for phrase in self.phrases for pitch in phrase}
        return self.up | self.down | held

    @cached_property
    def moves(self) -> Moves:
        """The table of its movement."""
        return Moves.of(self.ascent, self.descent, self.phrases)

    def sized(self, tone: int) -> tuple[str, float]:
        """A tone's ratio against Sa as text, and its size in cents: just, or as the mode's own
        tuning has it (no ratio, where that is not the just one)."""
        just = JUST_TUNING.cents[tone]
        own = just if self.tuning is None else self.tuning.cents[tone]
        return (str(JUST[tone]) if own == just else ""), own

    @property
    def drone_second(self) -> int:
        """The drone's second tone: Pa, or Ma, or Ni where the mode has no Pa (common practice)."""
        paths = self.up | self.down
        for candidate in (7, 5, 11, 10):
            if candidate in paths:
                return candidate
        return 0
