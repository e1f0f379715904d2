"""The signs of a staff: accidentals, time signatures, tempo numbers, the symbol of the drone."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import groupby
from typing import NamedTuple

from cyclechart.arrange.sheet.model import StaffKey
from cyclechart.text.display import tidy
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.spelling import LETTERS, Tonic, spell

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def clean_text(text: str) -> str:
    """Return a text on one line, without characters that XML 1.0 forbids or that turn the text."""
    return tidy(_NOT_XML.sub("", text))


class Accidental(NamedTuple):
    """An accidental printed before a note. A courtesy accidental is in parentheses.

    ``alter``: -1 for a flat, 0 for a natural, 1 for a sharp.
    """

    alter: int
    is_courtesy: bool


class Accidentals:
    """The accidentals of a strain, measure by measure.

    One is printed where the note differs from what is in force on its line or space: the key
    signature, or an accidental before it in the measure. A courtesy accidental is printed where
    another octave, or the measure before, altered the same letter otherwise.
    """

    def __init__(self, key: StaffKey) -> None:
        self.key = key.alters
        # For each letter, octave -> alter, of this measure and the one before.
        self.here: dict[str, dict[int, int]] = {letter: {} for letter in LETTERS}
        self.before: dict[str, dict[int, int]] = {letter: {} for letter in LETTERS}
        # For each letter, the octaves that need no courtesy accidental any more in this measure.
        self.settled: dict[str, set[int]] = {letter: set() for letter in LETTERS}
        self.tied: list[tuple[str, int, int]] = []

    def next_measure(self) -> None:
        """Begin a new measure, in which the accidentals of the last one are no longer in force."""
        for letter, octave, alter in self.tied:
            self.here[letter].setdefault(octave, alter)
        self.tied.clear()
        self.before = self.here
        self.here = {letter: {} for letter in LETTERS}
        for octaves in self.settled.values():
            octaves.clear()

    def hold(self, step: str, octave: int, alter: int) -> None:
        """Record a tone held from the measure before. It prints nothing; its accidental ends with
        it."""
        self.tied.append((step, octave, alter))
        self.before[step][octave] = alter

    def printed(self, step: str, octave: int, alter: int) -> Accidental | None:
        """Return the accidental that a struck note prints, or None."""
        here, settled = self.here[step], self.settled[step]
        if alter != here.get(octave, self.key[step]):
            here[octave] = alter
            settled.clear()
            settled.add(octave)
            return Accidental(alter, False)
        here[octave] = alter
        if octave in settled:
            return None
        settled.add(octave)
        before = self.before[step]
        if (here and any(other != alter for other in here.values())) or (
            before and any(other != alter for other in before.values())
        ):
            return Accidental(alter, True)
        return None


Meter = tuple[tuple[str, str], ...]
"""The beats and the beat type of each part of a time signature."""


def meter_of(cycle: Cycle) -> Meter:
    """Return the time signature of a cycle; a beat is a quarter.

    Equal sections are one meter, for dashed lines show them: 2 2 2 2 2 2 is 12 over 4. Unlike ones
    are added up: 3 2 2 is ``3+2+2`` over ``4``; 4 4 3 1/2 is ``4+4`` over 4 and 7 over 8.
    """
    if len(set(cycle.sections)) == 1:
        section = cycle.sections[0]
        return ((str(section.numerator * len(cycle.sections)), _beat_type(section)),)
    counts = [(_beat_type(size), size.numerator) for size in cycle.sections]
    return tuple(
        ("+".join(str(beats) for _, beats in group), kind)
        for kind, group in groupby(counts, key=lambda count: count[0])
    )


def meter_of_beats(beats: Fraction) -> Meter:
    """Return the time signature of so many beats without sections."""
    return ((str(beats.numerator), _beat_type(beats)),)


def _beat_type(size: Fraction) -> str:
    return str(4 * size.denominator)


def plain_number(value: Fraction) -> str:
    """Return a number as a decimal of at most three places, rounded where it has more."""
    whole, thousandths = divmod(round(value * 1000), 1000)
    return f"{whole}.{thousandths:03}".rstrip("0").rstrip(".")


class DroneSymbol(NamedTuple):
    """The chord symbol of a drone.

    ``step`` and ``alter``: its root; ``kind``: MusicXML's kind of chord; ``plain``: only the text
    is drawn, without the root.
    """

    step: str
    alter: int
    kind: str
    text: str
    plain: bool


def drone_symbol(tonic: Tonic, second: int) -> DroneSymbol:
    """Return the symbol for a drone of Sa and a second tone (semitones above it; 0 for none)."""
    root = spell(tonic, 0)
    if second == 7:
        return DroneSymbol(root.step, root.alter, "power", "5", False)
    # No suspended fourth for Ma: a player would add the fifth, which a mode may well forbid.
    tones = f"{root} · {spell(tonic, second)}" if second else f"{root}"
    return DroneSymbol(root.step, root.alter, "other", f"{tones} drone", True)
