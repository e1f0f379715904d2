"""The lead sheet as data: the lines cut into measures, one measure a section of the cycle.

A strain is one line in one cycle, as it stands on the page: a line that is played in two stands
there twice. Times inside a strain are exact beats from the first
first beat of the line (its body); a pickup lies before 0.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import Literal

from cyclechart.arrange.contents import Staff
from cyclechart.arrange.measures import Measure, free_measures, measures_of
from cyclechart.arrange.road import SA, RoadStep, letter, lettered, letters_of, places_of, road_of
from cyclechart.arrange.spans import Span, spans_of
from cyclechart.arrange.timeline import unroll
from cyclechart.catalog.instruments import Clef
from cyclechart.piece.model import Line, Note, Piece
from cyclechart.theory.cadence import Answer
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats, show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import (
    LETTERS,
    Spelled,
    Tonic,
    key_alter,
    nearest_signature,
    readable_tonic,
    written_tonic,
)

StrainKind = Literal["melody", "strokes", "kit"]

KIND_OF: dict[Staff, StrainKind] = {"pitched": "melody", "strokes": "strokes", "kit": "kit"}
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


@dataclass(frozen=True)
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


@dataclass(frozen=True)
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
    spans: tuple[Span, ...] = ()
    tones: str = ""
    """The mode's tones for who improvises over it, or ""."""
    tempo: Fraction | None = None
    """Beats a minute, where that is said anew."""
    drone: bool = True
    """Whether its beginning names the drone."""
    holds: str = ""
    """What a drone sounds through it, for who plays one."""
    turn: str = ""
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
            numbers.append(name + (suffix(count) if count > 1 else ""))
        return tuple(numbers)


def suffix(number: int) -> str:
    """1 is a, 26 z, 27 aa."""
    return letter(number - 1).lower()


@dataclass(frozen=True)
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
    road: tuple[RoadStep, ...]
    liberties: tuple[str, ...]
    reader: Reader | None = None
    """Whose part it is; None for a lead sheet."""
    names: str = "sargam"
    """What stands under the notes: sargam, letters, degrees, solfa16 or none."""


def sheet_of(piece: Piece) -> Sheet:
    """Lay a piece's lines out for reading: in the order of the form, each once in each cycle."""
    used = {note.pitch % 12 for line in piece.lines.values() for note in line.notes
            if note.pitch is not None}  # fmt: skip
    tones = piece.mode.up | piece.mode.down
    tonic = readable_tonic(piece.tonic, tones | used)
    strains = []
    before: Cycle | None = None
    for (name, cycle, sa), mark in letters_of(piece).items():
        line = piece.line_in(name, cycle)
        written = tonic if sa == piece.tonic else readable_tonic(sa, tones | used)
        mode = _mode_of(piece, name, cycle, sa)
        written = written_tonic(written, tones | used, mode.up | mode.down)
        key = Key(written, mode, nearest_signature(written, mode.up | mode.down))
        within = ", ".join(_where(piece, None if line.free else cycle, sa, written, mode))
        strains.append(_strain(line, mark, cycle, key, cycle != before, within))
        before = before if line.free else cycle
    return Sheet(
        piece.title,
        piece.composer,
        tonic,
        piece.mode,
        piece.cycles,
        piece.tempo,
        piece.tuning.name,
        nearest_signature(tonic, tones),
        tuple(strains),
        lettered(road_of(piece, unroll(piece)), lambda sa: readable_tonic(sa, tones | used)),
        tuple(liberty_text(piece, number) for number in range(len(piece.liberties))),
    )


def _mode_of(piece: Piece, name: str, cycle: Cycle, tonic: Tonic) -> Mode:
    """The mode in which the form first has a line in a cycle and on a Sa."""
    for step in piece.steps:
        if (name, cycle, tonic) in places_of(piece, step):
            return step.force.mode
    return piece.mode


def _where(
    piece: Piece, cycle: Cycle | None, tonic: Tonic, written: Tonic, mode: Mode
) -> Iterator[str]:
    """What of a strain is not as the page's heading says."""
    if len(piece.cycles) > 1 and cycle is not None:
        yield f"in {piece.called(cycle)}"
    if tonic != piece.tonic:
        yield f"{SA}{written}"
    if mode != piece.mode:
        yield mode.name


def liberty_text(piece: Piece, number: int) -> str:
    liberty = piece.liberties[number]
    where = f" in {liberty.line}" if liberty.line else ""
    tone = f" {liberty.tone}" if liberty.tone else ""
    return f"{liberty.rule}{tone}{where}: {liberty.why}"


def _strain(line: Line, letter: str, cycle: Cycle, key: Key, first: bool, within: str) -> Strain:
    if line.free:
        measures = free_measures(line)
        return Strain(
            letter,
            line.name,
            line.kind,
            cycle,
            key,
            False,
            line.notes,
            measures,
            True,
            ", ".join(["free", *filter(None, [within])]),
            spans_of(line),
        )
    standing = line.standing(cycle)
    shift = -standing.pickup
    notes = tuple(replace(note, start=note.start + shift) for note in line.notes)
    end = shift + line.length
    body = end if end > 0 else Fraction(0)
    pads = not (standing.shape == "loops" and (end % cycle.beats) != 0)
    measures = measures_of(cycle, shift, body if body > shift else end, pads)
    remark = ", ".join([within, *remarks_of(line)] if within else remarks_of(line))
    return Strain(
        letter,
        line.name,
        line.kind,
        cycle,
        key,
        first,
        notes,
        measures,
        False,
        remark,
        spans_of(line),
    )


def remarks_of(line: Line) -> Iterator[str]:
    if line.begins != 1:
        yield f"from beat {show_exact(line.begins)}"
    for cadence in line.cadences:
        if cadence.answer is not None:
            yield cadence.answer.name
            yield from _gaps(cadence.answer)
    if line.lands is not None and line.lands.how != "free":
        side = "before" if line.lands.how == "anagat" else "after"
        yield f"lands {line.lands.how}, {show_beats(line.lands.by)} {side} the first beat"


def _gaps(answer: Answer) -> Iterator[str]:
    """How a chakradar is spaced; over a tihai the first bracket says it."""
    if answer.round_gap is None:
        return
    yield f"{answer.rounds} rounds of {len(answer.ends) // answer.rounds}"
    for gap, where in ((answer.gap, "statements"), (answer.round_gap, "rounds")):
        if gap:
            yield f"gap {show_exact(gap)} between {where}"
