"""What stands on a staff besides time: accidentals, the meter's numbers, sung words, the drone."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Literal, NamedTuple

from cyclechart.arrange.sheet.model import Key, Strain
from cyclechart.piece.model import Note
from cyclechart.text.display import tidy
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.spelling import LETTERS, Tonic, spell

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def clean_text(text: str) -> str:
    """A text in one line, without what XML 1.0 cannot hold and what would turn it around."""
    return tidy(_NOT_XML.sub("", text))


class Accidental(NamedTuple):
    """The accidental printed before a note, in parentheses where it only reminds."""

    alter: int
    reminds: bool


class Accidentals:
    """Which accidentals a strain prints, measure by measure.

    One is printed where the note differs from what holds on its line or space: the key signature,
    or an accidental before it in the measure. One in parentheses reminds of a letter that another
    octave, or the measure before, had otherwise.
    """

    def __init__(self, key: Key) -> None:
        self.key = key.alters
        # For each letter, octave -> alter, of this measure and the one before.
        self.here: dict[str, dict[int, int]] = {letter: {} for letter in LETTERS}
        self.before: dict[str, dict[int, int]] = {letter: {} for letter in LETTERS}
        self.sure: dict[str, set[int]] = {letter: set() for letter in LETTERS}
        self.tied: list[tuple[str, int, int]] = []

    def next_measure(self) -> None:
        """A barline or the line of a section: accidentals hold no longer."""
        for letter, octave, alter in self.tied:
            self.here[letter].setdefault(octave, alter)
        self.tied.clear()
        self.before = self.here
        self.here = {letter: {} for letter in LETTERS}
        for octaves in self.sure.values():
            octaves.clear()

    def hold(self, step: str, octave: int, alter: int) -> None:
        """A note goes on from the measure before: no sign, and its accidental ends with it."""
        self.tied.append((step, octave, alter))
        self.before[step][octave] = alter

    def sign(self, step: str, octave: int, alter: int) -> Accidental | None:
        """What a struck note prints."""
        here, sure = self.here[step], self.sure[step]
        if alter != here.get(octave, self.key[step]):
            here[octave] = alter
            sure.clear()
            sure.add(octave)
            return Accidental(alter, False)
        here[octave] = alter
        if octave in sure:
            return None
        sure.add(octave)
        before = self.before[step]
        if (here and any(other != alter for other in here.values())) or (
            before and any(other != alter for other in before.values())
        ):
            return Accidental(alter, True)
        return None


def meter_of(cycle: Cycle) -> tuple[tuple[str, str], ...]:
    """A cycle as a time signature: (beats, beat type) pairs, its sections added up.

    A beat is a quarter: 3 2 2 is ``3+2+2`` over ``4``; 4 4 3 1/2 is ``4+4`` over 4 and 7 over 8.
    """
    counts = [(4 * size.denominator, size.numerator) for size in cycle.sections]
    return tuple(
        ("+".join(str(beats) for _, beats in group), str(kind))
        for kind, group in groupby(counts, key=lambda count: count[0])
    )


def plain_number(value: Fraction) -> str:
    """A number as a decimal of at most three places, exact where that is enough."""
    whole, thousandths = divmod(round(value * 1000), 1000)
    return f"{whole}.{thousandths:03}".rstrip("0").rstrip(".")


class DroneSymbol(NamedTuple):
    """A chord symbol for the drone. ``plain``: the text says it all and no root is drawn."""

    step: str
    alter: int
    kind: str
    text: str
    plain: bool


def drone_symbol(tonic: Tonic, second: int) -> DroneSymbol:
    """The symbol for a drone of Sa and a second tone (semitones above it; 0 for none)."""
    root = spell(tonic, 0)
    if second == 7:
        return DroneSymbol(root.step, root.alter, "power", "5", False)
    # No suspended fourth for Ma: a player would add the fifth, which a mode may well forbid.
    tones = f"{root} · {spell(tonic, second)}" if second else f"{root}"
    return DroneSymbol(root.step, root.alter, "other", f"{tones} drone", True)


Syllabic = Literal["single", "begin", "middle", "end", ""]


class Lyric(NamedTuple):
    """What verse two has under a note: a syllable, or ("" for both) the line that extends one."""

    syllabic: Syllabic
    text: str
    extend: Literal["start", "continue", "stop", ""]


def lyrics_of(notes: Sequence[Note]) -> list[Lyric | None]:
    """The words of a line: ``-`` at a word's end joins the next; ``_`` holds the one before."""
    words = [clean_text(note.word) for note in notes]
    found: list[Lyric | None] = [None] * len(words)
    joined = False
    at = 0
    while at < len(words):
        end = at + 1
        if not words[at] or words[at] in ("_", "_-"):
            at = end
            continue
        while end < len(words) and words[end] in ("_", "_-"):
            end += 1
        goes_on = any(word.endswith("-") and word != "-" for word in words[at:end])
        text = words[at]
        if text.endswith("-") and text != "-":
            text = text[:-1]
        syllabic = _SYLLABIC[joined, goes_on]
        # Inside a word the hyphens show how long a syllable is held.
        held = not goes_on and end - at > 1
        found[at] = Lyric(syllabic, text, "start" if held else "")
        if held:
            found[at + 1 : end] = [Lyric("", "", "continue")] * (end - at - 2) + [
                Lyric("", "", "stop")
            ]
        joined = goes_on
        at = end
    return found


_SYLLABIC: dict[tuple[bool, bool], Syllabic] = {
    (False, False): "single",
    (False, True): "begin",
    (True, True): "middle",
    (True, False): "end",
}


@dataclass(frozen=True, slots=True)
class MeasureContent:
    """A measure's notes and rests in ticks: ``bounds`` from 0 to ``length`` within it.

    ``lead``: ticks before its first beat line. ``indices``: each span's note, −1 for a rest.
    ``held_in``: the first note began before; ``held_out``: the last goes on after.
    """

    length: int
    lead: int
    bounds: tuple[int, ...]
    rests: tuple[bool, ...]
    indices: tuple[int, ...]
    held_in: bool
    held_out: bool


def ticks_per_beat(strains: Iterable[Strain]) -> int:
    """The fewest ticks a beat on which every note and measure of the strains is exact."""
    found = {1}
    for strain in strains:
        for note in strain.notes:
            found.add(note.start.denominator)
            found.add(note.length.denominator)
        for measure in strain.measures:
            found.add(measure.start.denominator)
            found.add(measure.length.denominator)
            found.add(measure.beat.denominator)
            if measure.rests:
                found.add(strain.cycle.beats.denominator)
    return math.lcm(*found)


def measure_contents(strain: Strain, beat: int) -> Iterator[MeasureContent]:
    """The measures of a strain with what sounds in them, at ``beat`` ticks a beat.

    Beats are counted from the section's start, also where a measure begins inside one.
    """
    spans = _spans(strain, beat)
    leads: dict[Fraction, int] = {}
    first = 0
    for measure in strain.measures:
        start, length = _ticks(measure.start, beat), _ticks(measure.length, beat)
        if measure.beat not in leads:
            into = (
                measure.beat - 1 - max(at for at in strain.cycle.starts if at <= measure.beat - 1)
            )
            leads[measure.beat] = 0 if strain.free else _ticks(-into % 1, beat)
        while first < len(spans) and spans[first][1] <= start:
            first += 1
        bounds, indices = [0], []
        at = first
        while at < len(spans) and spans[at][0] < start + length:
            begins = max(spans[at][0] - start, bounds[-1])
            ends = min(spans[at][1] - start, length)
            if begins > bounds[-1]:
                bounds.append(begins)
                indices.append(-1)
            if ends > begins:
                bounds.append(ends)
                indices.append(at)
            at += 1
        if bounds[-1] < length:
            bounds.append(length)
            indices.append(-1)
        yield MeasureContent(
            length,
            min(leads[measure.beat], length) % beat,
            tuple(bounds),
            tuple([index < 0 for index in indices]),
            tuple(indices),
            indices[0] >= 0 and spans[indices[0]][0] < start,
            indices[-1] >= 0 and spans[indices[-1]][1] > start + length,
        )


def _spans(strain: Strain, beat: int) -> list[tuple[int, int]]:
    """From where to where each note sounds, in ticks within the strain."""
    spans = []
    for note in strain.notes:
        start, length = note.start, note.length
        begins = start.numerator * (beat // start.denominator)
        spans.append((begins, begins + length.numerator * (beat // length.denominator)))
    return spans


def _ticks(time: Fraction, beat: int) -> int:
    return time.numerator * (beat // time.denominator)
