"""Chord symbols as data: a root and the tones over it, in semitones above Sa."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

from cyclechart.theory.chord_qualities import COMMON, LONGEST, Degree, degrees_of
from cyclechart.theory.spelling import LETTERS, NATURAL, Spelled, Tonic, spell
from cyclechart.theory.tones import SARGAM


@dataclass(frozen=True)
class ChordSymbol:
    """A chord: ``root`` in semitones (0 to 11) above Sa, ``tones`` the semitones over the root from
    the lowest up, ``suffix`` what is written after the root (``m7``), ``bass`` in semitones (0 to
    11) above Sa where another tone than the root is the lowest.

    ``root_step`` and ``bass_step``: the staff steps above Sa that they are written on, None for the
    usual ones.
    """

    root: int
    tones: tuple[int, ...]
    suffix: str = ""
    bass: int | None = None
    root_step: int | None = None
    bass_step: int | None = None

    @cached_property
    def degrees(self) -> tuple[Degree, ...]:
        """Its tones as degrees of the chord, with their semitones over the root."""
        return degrees_of(self.suffix) or tuple((1, tone) for tone in self.tones)

    @property
    def lowest(self) -> int:
        """The tone of its bass (0 to 11)."""
        return self.root if self.bass is None else self.bass

    @cached_property
    def pitch_classes(self) -> frozenset[int]:
        """Its tones (0 to 11), that of the bass too."""
        return frozenset((self.root + tone) % 12 for tone in self.tones) | {self.lowest}

    def on(self, root: int) -> ChordSymbol:
        """Return it on another root, without another bass."""
        return replace(self, root=root % 12, bass=None, root_step=None, bass_step=None)

    def counted_from(self, semitones: int, steps: int) -> ChordSymbol:
        """Return it counted from another Sa, so many semitones and staff steps below this one."""

        def moved(step: int | None) -> int | None:
            return None if step is None else (step + steps) % 7

        bass = None if self.bass is None else (self.bass + semitones) % 12
        return replace(
            self, root=(self.root + semitones) % 12, bass=bass, root_step=moved(self.root_step),
            bass_step=moved(self.bass_step),
        )  # fmt: skip

    def spelled_root(self, tonic: Tonic) -> Spelled:
        """Return its root as it is written where Sa stands on a letter."""
        return _spelled(tonic, self.root, self.root_step)

    def spelled_bass(self, tonic: Tonic) -> Spelled | None:
        """Return its bass likewise, None where the root is the lowest."""
        return None if self.bass is None else _spelled(tonic, self.bass, self.bass_step)

    def in_letters(self, tonic: Tonic) -> str:
        """Return it as text in letters: ``F♯m7♭5``, ``G/D``."""
        bass = self.spelled_bass(tonic)
        return f"{self.spelled_root(tonic)}{shown_suffix(self.suffix)}" + (
            f"/{bass}" if bass is not None else ""
        )


def shown_suffix(suffix: str) -> str:
    """Return a suffix with the signs of flats and sharps."""
    return re.sub(r"b(?=\d)", "♭", suffix).replace("#", "♯")


def _spelled(tonic: Tonic, tone: int, step: int | None) -> Spelled:
    """Return a tone on a staff step over Sa; on the usual one where it would need a double sign."""
    if step is None:
        return spell(tonic, tone)
    letter = LETTERS[(LETTERS.index(tonic.letter) + step) % 7]
    alter = (tonic.semitone + tone - NATURAL[letter] + 6) % 12 - 6
    return Spelled(letter, alter, 4) if abs(alter) <= 1 else spell(tonic, tone)


class RootNames(NamedTuple):
    """How the roots of a text are named: ``pattern`` matches one, ``read`` gives its semitones (0
    to 11) and staff steps above Sa, ``write`` the name of a tone."""

    pattern: re.Pattern[str]
    read: Callable[[str], tuple[int, int | None]]
    write: Callable[[int, int | None], str]
    bare_major: bool
    """True if ``M`` alone says major; in sargam it is a root."""


def letter_roots(tonic: Tonic) -> RootNames:
    """Return the roots in letters, counted from the Sa of a piece."""

    def read(name: str) -> tuple[int, int | None]:
        alter = {"": 0, "b": -1, "♭": -1, "#": 1, "♯": 1}[name[1:]]
        step = (LETTERS.index(name[0]) - LETTERS.index(tonic.letter)) % 7
        return (NATURAL[name[0]] + alter - tonic.semitone) % 12, step

    def write(tone: int, step: int | None) -> str:
        return str(_spelled(tonic, tone, step)).replace("♭", "b").replace("♯", "#")

    return RootNames(re.compile("[A-G][#b♯♭]?"), read, write, True)


DEGREE_ROOTS = RootNames(
    re.compile(f"[{SARGAM}]"),
    lambda name: (SARGAM.index(name), None),
    lambda tone, _: SARGAM[tone],
    False,
)
"""The roots in the degrees of sargam."""

_RUN = re.compile(f"[A-Za-z0-9+#♭♯°øØΔ△(),/]{{0,{LONGEST}}}")


def symbol_at(text: str, at: int, names: RootNames) -> tuple[ChordSymbol, int] | None:
    """Return the longest chord symbol at an index of a text, and where it ends; None for none."""
    root = names.pattern.match(text, at)
    if root is None:
        return None
    run = _RUN.match(text, root.end())
    most = len(run[0]) if run else 0
    for length in range(most, -1, -1):
        suffix = text[root.end() : root.end() + length]
        degrees = degrees_of(suffix)
        if degrees is None or (suffix == "M" and not names.bare_major):
            continue
        tone, step = names.read(root[0])
        tones = tuple(semitones for _, semitones in degrees)
        symbol = ChordSymbol(tone, tones, suffix, root_step=step)
        end = root.end() + length
        bass = names.pattern.match(text, end + 1) if text[end : end + 1] == "/" else None
        if bass is None:
            return symbol, end
        low, low_step = names.read(bass[0])
        if low == tone:
            return symbol, bass.end()
        return replace(symbol, bass=low, bass_step=low_step), bass.end()
    return None


def write_symbol(symbol: ChordSymbol, names: RootNames) -> str:
    """Return a chord symbol as text with roots of one kind."""
    text = names.write(symbol.root, symbol.root_step) + symbol.suffix
    if symbol.bass is None:
        return text
    return f"{text}/{names.write(symbol.bass, symbol.bass_step)}"


def nearest_in(symbol: ChordSymbol, tones: frozenset[int]) -> ChordSymbol | None:
    """Return the nearest chord on the same root whose tones are all among some (0 to 11); None for
    none."""
    found: list[tuple[int, int, ChordSymbol]] = []
    for number, suffix in enumerate(COMMON):
        degrees = degrees_of(suffix) or ()
        if all((symbol.root + semitones) % 12 in tones for _, semitones in degrees):
            chord = ChordSymbol(
                symbol.root, tuple(tone for _, tone in degrees), suffix, root_step=symbol.root_step
            )
            found.append((_distance(symbol.degrees, degrees), number, chord))
    return min(found, key=lambda one: one[:2])[2] if found else None


_LOST, _MORE = 3, 2
"""The distance of a chord without one of the degrees, and with one more, in semitones."""


def _distance(degrees: tuple[Degree, ...], other: tuple[Degree, ...]) -> int:
    """Return how far a chord is from another, degree by degree."""
    there, here = dict(other), dict(degrees)
    moved = sum(abs(there[number] - tone) for number, tone in degrees if number in there)
    lost = sum(number not in there for number in here)
    return moved + _LOST * lost + _MORE * sum(number not in here for number in there)
