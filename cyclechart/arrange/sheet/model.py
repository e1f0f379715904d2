"""A sheet as data: strains of notes and measures, and what stands around them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Literal

from cyclechart.arrange.sheet.brackets import Bracket
from cyclechart.arrange.sheet.measures import Measure
from cyclechart.arrange.sheet.road_map import (
    FormBox,
    form_letter,
)
from cyclechart.catalog.instruments import Clef, Staff
from cyclechart.piece.model import Note
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
"""What stands on each kind of staff."""


@dataclass(frozen=True)
class Key:
    """What a strain is written on: its Sa, its mode, and the signs of its signature."""

    tonic: Tonic
    mode: Mode
    fifths: int
    shift: int = 0
    """Semitones, whole octaves, from a tone above the middle Sa to where it is written."""
    signs: tuple[tuple[str, int], ...] | None = None
    """The mode's own signature in place of a standard one: letters and what is done to them."""
    borrowed: tuple[tuple[int, Spelled], ...] = ()
    """Tones that are written as another Sa has them: a pickup leads to that."""

    @property
    def alters(self) -> dict[str, int]:
        """What the signature does to each letter: -1, 0 or 1."""
        if self.signs is None:
            return {letter: key_alter(self.fifths, letter) for letter in LETTERS}
        return {**dict.fromkeys(LETTERS, 0), **dict(self.signs)}


@dataclass(frozen=True, kw_only=True)
class Reader:
    """Who a part is for: the player's name, his instrument, and how it is written.

    ``transposes``: semitones from what is written to what sounds; ``program``: of General MIDI from
    0, None for drums.
    """

    player: str
    instrument: str
    clef: Clef
    transposes: int
    staff: Staff
    program: int | None = None


@dataclass(frozen=True, kw_only=True)
class Strain:
    """A line on the page. The notes' ``start`` is within the strain; gaps are rests.

    ``cycle``: the one it stands in here. ``first``: the first that is metered, or after one that is
    in another cycle, so that it shows its time signature.
    """

    letter: str
    name: str
    kind: StrainKind
    cycle: Cycle
    key: Key
    first: bool
    notes: tuple[Note, ...]
    measures: tuple[Measure, ...]
    free: bool
    remark: str
    """What a player should know of its beginning or landing, or ""."""
    brackets: tuple[Bracket, ...] = ()
    tones: str = ""
    """The mode's tones for who improvises over it, or ""."""
    tempo: Fraction | None = None
    """Beats a minute, where that is said anew."""
    drone: bool = True
    """Whether its beginning names the drone."""
    staff_text: str = ""
    """What a drone sounds through it, for who plays one."""
    next_change: str = ""
    """What changes at the next strain, told before it, or ""."""

    @property
    def silent(self) -> bool:
        """Whether nothing stands in it."""
        return not self.notes

    @property
    def rests(self) -> int:
        """The cycles of rest in it."""
        return sum(measure.rests for measure in self.measures)

    @cached_property
    def places(self) -> tuple[str, ...]:
        """The number of each measure in a part: that of its cycle on the first of a cycle, then 1b,
        1c …; a free one is named by the strain's letter (A1, A2), a pickup or lead-in X or 0."""
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
    """1 is a, 26 z, 27 aa."""
    return form_letter(number - 1).lower()


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A whole lead sheet. ``tonic`` is the one it is written in; ``fifths`` its key signature.

    ``cycles``: those in use, in the order of use.
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
    reader: Reader | None = None
    """Whose part it is; None for a lead sheet."""
    names: str = "sargam"
    """What stands under the notes: sargam, letters, degrees, solfa16 or none."""
