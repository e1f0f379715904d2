"""A rhythmic cycle (tala): its length, its sections, its claps and waves. Beats count from 1."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from itertools import accumulate

KINDS = {"tisra": 3, "chaturasra": 4, "khanda": 5, "misra": 7, "sankirna": 9}
"""The five kinds: beats of a laghu where a jati is named, pulses of a beat where a gati is."""

LIMBS = {"I": "laghu", "O": "drutam", "U": "anudrutam"}
"""The limbs (angas) of a southern tala: a laghu lasts as its jati says, the others 2 and 1."""


@dataclass(frozen=True, kw_only=True)
class Cycle:
    """A cycle of ``beats`` beats in ``sections``; ``stressed`` and ``open`` are beats from 1.

    Beat 1 is sam. A stressed beat is shown by a clap, an open one (khali) by a wave; beat 1 may
    itself be open. Texts are "" where none is given: ``strokes`` is the theka, ``spoken`` the
    southern spoken count of the beats, ``sarvalaghu`` the pattern of a southern drummer.
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
    spoken: str = ""
    sarvalaghu: str = ""
    sarvalaghu_source: str = ""
    limbs: str = ""
    """The limb of each section, as letters of ``LIMBS``, or "" where the cycle has none."""
    southern: bool = False
    """True if its drums keep time by a sarvalaghu, not by a theka with a silent bass (khali)."""

    def __hash__(self) -> int:
        """Return a hash of its name and length: it is looked up far more often than two are alike
        in these and not in the rest."""
        return hash((self.name, self.beats.numerator, self.beats.denominator))

    @cached_property
    def starts(self) -> tuple[Fraction, ...]:
        """The start of each section, in beats from the cycle's start (0 first)."""
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

    @cached_property
    def hand(self) -> dict[Fraction, str]:
        """The hand signs of a cycle of limbs: position -> clap, wave, or a finger count from 1.

        A laghu is a clap and finger counts, a drutam a clap and a wave, an anudrutam a clap.
        """
        kept: dict[Fraction, str] = {}
        if not self.limbs:
            return kept
        for limb, start, size in zip(self.limbs, self.starts, self.sections, strict=True):
            kept[start] = "clap"
            for beat in range(1, int(size)):
                kept[start + beat] = "wave" if limb == "O" else str(beat)
        return kept

    @property
    def pulses(self) -> Fraction:
        """Pulses of its gati in the whole cycle; 0 where no gati is said."""
        return self.gati * self.beats

    def in_gati(self, kind: str) -> Cycle:
        """The same cycle with its beats in 3, 4, 5, 7 or 9 pulses; ``kind`` is one of ``KINDS``.

        A theka stays as it is; a spoken count and a sarvalaghu give way to those of the gati.
        """
        name = f"{kind.capitalize()}-gati {self.name}"
        return replace(
            self,
            name=name,
            gati=KINDS[kind],
            spoken="",
            sarvalaghu="",
            sarvalaghu_source="",
            aka=(),
        )

    def walk(self) -> tuple[tuple[int, Fraction, Fraction], ...]:
        """The beats, counted afresh from each section: (section from 0, position, length).

        The last beat of a section of broken length is a short one.
        """
        return self._walked

    @cached_property
    def _walked(self) -> tuple[tuple[int, Fraction, Fraction], ...]:
        beats = []
        for number, (start, size) in enumerate(zip(self.starts, self.sections, strict=True)):
            offset = Fraction(0)
            while offset < size:
                length = min(Fraction(1), size - offset)
                beats.append((number, start + offset, length))
                offset += length
        return tuple(beats)

    def place(self, position: Fraction) -> tuple[int, Fraction]:
        """Return the cycle (from 0, below 0 before the start) and beat (from 1) of a position."""
        number, within = divmod(position, self.beats)
        return int(number), within + 1

    def nearest_start(self, position: Fraction, first_only: bool = False) -> Fraction:
        """The section start (or first beat) nearest to a position; the earlier one of two."""
        base = position // self.beats * self.beats
        starts = (Fraction(0),) if first_only else self.starts
        candidates = [base + start for start in (*starts, self.beats)]
        return min(candidates, key=lambda start: abs(start - position))


def groups_of(beats: int) -> list[int]:
    """Return the groups of two, three and four that musicians count a number of beats in: 5 is
    2 3, 7 is 3 2 2."""
    if beats <= 4:
        return [beats] if beats else []
    if beats == 7:
        return [3, 2, 2]
    fours, rest = divmod(beats, 4)
    tails = {0: [4], 1: [2, 3], 2: [3, 3], 3: [4, 3]}
    return [4] * (fours - 1) + tails[rest]
