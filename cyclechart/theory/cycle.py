"""A rhythmic cycle (tala): its length, its sections, its claps and waves. Beats count from 1."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import accumulate


@dataclass(frozen=True)
class Cycle:
    """A cycle of ``beats`` beats in ``sections``; ``stressed`` and ``open`` are beats from 1.

    Beat 1 is sam. A stressed beat is shown by a clap, an open one (khali) by a wave; beat 1 may
    itself be open. ``strokes`` is the theka as text, or "" where none is given.
    """

    name: str
    beats: Fraction
    sections: tuple[Fraction, ...]
    stressed: tuple[Fraction, ...]
    open: tuple[Fraction, ...] = ()
    strokes: str = ""
    aka: tuple[str, ...] = ()
    source: str = ""
    note: str = ""
    gati: int = 0
    """Pulses that each beat is divided into (gati, nadai), or 0 where none is said."""

    @cached_property
    def starts(self) -> tuple[Fraction, ...]:
        """Where each section begins, in beats from the cycle's start (0 first)."""
        return (Fraction(0), *accumulate(self.sections[:-1]))

    @cached_property
    def signs(self) -> dict[Fraction, str]:
        """The trade's sign at each clapped or waved position: × sam, 0 khali, 2 3 … later claps.

        An open first beat is written 0, and the claps after it are numbered from 2 (rupak is 0 2 3
        here; some books number its claps 1 and 2).
        """
        signs: dict[Fraction, str] = {}
        number = 1
        for beat in sorted({*self.stressed, *self.open, Fraction(1)}):
            if beat in self.open:
                signs[beat - 1] = "0"
            elif beat == 1:
                signs[beat - 1] = "×"
            else:
                number += 1
                signs[beat - 1] = str(number)
        return signs

    def walk(self) -> Iterator[tuple[int, Fraction, Fraction]]:
        """The beats, counted afresh from each section: (section from 0, position, length).

        The last beat of a section of broken length is a short one.
        """
        for number, (start, size) in enumerate(zip(self.starts, self.sections, strict=True)):
            offset = Fraction(0)
            while offset < size:
                length = min(Fraction(1), size - offset)
                yield number, start + offset, length
                offset += length

    def place(self, position: Fraction) -> tuple[int, Fraction]:
        """Which cycle (0-based, negative before the start) and which beat from 1 a position is."""
        number, within = divmod(position, self.beats)
        return int(number), within + 1

    def nearest_start(self, position: Fraction, first_only: bool = False) -> Fraction:
        """The section start (or first beat) nearest to a position; the earlier one of two."""
        base = position // self.beats * self.beats
        starts = (Fraction(0),) if first_only else self.starts
        candidates = [base + start for start in (*starts, self.beats)]
        return min(candidates, key=lambda start: abs(start - position))
