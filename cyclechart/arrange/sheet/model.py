"""A sheet as data: a heading, strains of notes and measures, and the road map."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from math import lcm
from typing import Literal

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.sheet.brackets import Bracket
from cyclechart.arrange.sheet.measures import Measure
from cyclechart.arrange.sheet.road_map import (
    FormBox,
    form_letter,
)
from cyclechart.arrange.sheet.tempo_marks import TempoChange
from cyclechart.catalog.instruments import Clef, Staff
from cyclechart.catalog.kit import DRUM
from cyclechart.catalog.roles import LineKind
from cyclechart.piece.note import Note
from cyclechart.theory.chord_symbols import ChordSymbol
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import (
    LETTERS,
    Spelled,
    Tonic,
    key_alter,
)

StrainKind = Literal["melody", "strokes", "kit"]


STRAIN_KINDS: dict[Staff, StrainKind] = {"pitched": "melody", "strokes": "strokes", "kit": "kit"}
"""The kind of strain for each kind of staff."""
LINE_STRAINS: dict[LineKind, StrainKind] = {
    "melody": "melody", "chords": "melody", "strokes": "strokes", "kit": "kit",
}  # fmt: skip
"""The kind of strain for each kind of line."""


@dataclass(frozen=True)
class StaffKey:
    """The key of a strain: its written Sa, its mode and its signature (``fifths``, flats < 0)."""

    tonic: Tonic
    mode: Mode
    fifths: int
    shift: int = 0
    """Semitones (whole octaves) added to every tone in writing."""
    signs: tuple[tuple[str, int], ...] | None = None
    """The mode's own signature in place of a standard one: (letter, alteration)."""
    borrowed: tuple[tuple[int, Spelled], ...] = ()
    """Tones spelled from another Sa: a pickup belongs to the Sa that it leads to."""

    @property
    def alters(self) -> dict[str, int]:
        """The alteration of each letter by the signature: -1, 0 or 1."""
        if self.signs is None:
            return {letter: key_alter(self.fifths, letter) for letter in LETTERS}
        return {**dict.fromkeys(LETTERS, 0), **dict(self.signs)}


@dataclass(frozen=True, kw_only=True)
class Reader:
    """The reader of a part: a player's name, their instrument, and its clef and staff.

    ``transposes``: semitones from the written to the sounding pitch; ``program``: the General MIDI
    program from 0, None for drums.
    """

    player: str
    instrument: str
    clef: Clef
    transposes: int
    staff: Staff
    program: int | None = None
    staves: int = 1
    """2 for a keyboard that is read on a treble and a bass staff."""
    names: str = ""
    """The tone names that its player asks for; "" for those of all charts."""
    script: str = ""
    """The script of these names; "" for Latin."""
    large: bool = False
    """True for one in large print."""
    short: str = ""
    """The name before the systems of a score."""
    section: str = ""
    """The section of a score that the player stands in."""
    joined: bool = True
    """True where barlines run on to the next staff of the section."""


@dataclass(frozen=True, kw_only=True)
class Strain:
    """A line on the page. The notes' ``start`` is in beats within the strain; gaps are rests.

    ``letter``: its own among the strains of a sheet. ``cycle``: the cycle it is played in.
    ``first``: it shows its time signature, because it is the first metered strain or follows one in
    another cycle.
    """

    letter: str
    name: str
    kind: StrainKind
    cycle: Cycle
    key: StaffKey
    first: bool
    notes: tuple[Note, ...]
    measures: tuple[Measure, ...]
    free: bool
    remark: str
    """A remark on its beginning or landing, or ""."""
    brackets: tuple[Bracket, ...] = ()
    note: str = ""
    """The leader's words over it, or ""."""
    tones: str = ""
    """The mode's tones for a soloist who improvises over it, or ""."""
    tempo: Fraction | None = None
    """Beats a minute, where the sheet shows a new tempo."""
    tempo_change: TempoChange | None = None
    """The steady change of tempo in it."""
    drone: bool = True
    """True where the drone is named at its beginning."""
    staff_text: str = ""
    """Text in place of a staff: the tones of a drone, or a D.S. in place of the music."""
    next_change: str = ""
    """A warning of the change at the next strain, or ""."""
    break_before: str = ""
    """The break that the piece asks for before it: ``page``, ``system`` or ""."""
    symbols: tuple[tuple[Fraction, ChordSymbol], ...] = ()
    """Of a lead sheet: the chords of another line that sound with it, each with its beat."""
    continues: bool = False
    """True for a coda that begins within a step: the step's letter stands where the step begins."""

    @property
    def shown_letter(self) -> str:
        """The rehearsal letter over it, or ""."""
        return "" if self.continues else self.letter

    @property
    def silent(self) -> bool:
        """True for a strain without notes."""
        return not self.notes

    @property
    def rests(self) -> int:
        """The number of cycles of rest in it."""
        return sum(measure.rests for measure in self.measures)

    @cached_property
    def ticks(self) -> int:
        """The fewest ticks a beat on which every note and measure is exact."""
        times = [note.start for note in self.notes] + [note.length for note in self.notes]
        times += [at for at, _ in self.symbols]
        for measure in self.measures:
            times += (measure.start, measure.length, measure.beat)
        if self.rests:
            times.append(self.cycle.beats)
        return lcm(*{time.denominator for time in times})

    @cached_property
    def places(self) -> tuple[str, ...]:
        """The number of each measure in a part.

        The first measure of a cycle has the cycle's number, the others 1b, 1c …; those of a free
        strain are A1, A2 … by the strain's letter, those of a pickup XA, XAb …
        """
        numbers = []
        counts: dict[str, int] = {}
        for at, measure in enumerate(self.measures, start=1):
            if self.free:
                numbers.append(f"{self.letter}{at}")
                continue
            name = str(measure.cycle) if measure.cycle else f"X{self.letter}"
            counts[name] = count = counts.get(name, 0) + 1
            numbers.append(name + (measure_suffix(count) if count > 1 else ""))
        return tuple(numbers)


def measure_suffix(number: int) -> str:
    """Return the letters of a number: a for 1, z for 26, aa for 27."""
    return form_letter(number - 1).lower()


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A lead sheet or a part. ``tonic`` is its written Sa; ``fifths`` its key signature.

    ``cycles``: the cycles in use, in order of use; ``tempo``: beats a minute.
    """

    title: str
    composer: str
    tonic: Tonic
    mode: Mode
    cycles: tuple[Cycle, ...]
    tempo: Fraction
    tuning: str
    fifths: int
    strains: tuple[Strain, ...]
    road: tuple[FormBox, ...]
    liberties: tuple[str, ...]
    eduppu: Fraction = Fraction(0)
    """The beats after the first beat at which the lines come home."""
    swing: str = ""
    """The swing at the beginning as text, or "" where halves are even."""
    edition: str = ""
    """The piece's version and date for the foot of the page, or ""."""
    reader: Reader | None = None
    """The reader of a part; None for a lead sheet."""
    signature: str = ""
    """The signature that was chosen, where none fits the mode; else ""."""
    names: str = "sargam"
    """The tone names under the notes: sargam, letters, degrees, solfa16 or none."""
    script: str = ""
    """The script of the names; "" for Latin."""
    keys: tuple[StaffKey, ...] = ()
    """Of a lead sheet: the modes of the form and their Sas, in its order, with or without lines."""

    def named(self, names: str) -> Sheet:
        """Return it with these tone names, or with those that its reader asks for: a script of
        svara names asks for such names."""
        own = self.reader.names if self.reader is not None else ""
        if not own and self.script and names not in ("sargam", "solfa16"):
            own = "sargam"
        return replace(self, names=own or names)

    @cached_property
    def drums(self) -> tuple[str, ...]:
        """The drums of a kit that are written in it, feet first."""
        written: set[int | str] = set()
        for strain in self.strains:
            for note in strain.notes if strain.kind == "kit" else ():
                if isinstance(note, PartNote) and not note.head:
                    written.update((note.syllable, *note.also))
        return tuple(name for name in DRUM if name in written)
