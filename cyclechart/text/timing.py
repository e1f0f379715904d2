"""From the tree of a line to strikes with exact times: one cell a beat, groups at their speed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal, NamedTuple

from cyclechart.finding import Finding, Spot
from cyclechart.text import reading_rules
from cyclechart.text.line_tree import Cell, Element, Group, Item, Repeat, SectionMark, Slur
from cyclechart.text.scripts import Value
from cyclechart.text.source import PlacedText

MAX_STRIKES = 50_000
MAX_BEATS = 20_000
"""The most beats of one line: with nested slow groups a short text could have far more."""
SHORTEST = Fraction(1, 1_000_000)
"""The least beats of one element: about a microsecond, below which nothing sounds."""
MAX_DENOMINATOR = 10**30
"""The largest denominator of any time in a line: beyond it sums grow without end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike:
    """A struck note or stroke: ``start`` and ``length`` in beats from the line's beginning."""

    start: Fraction
    length: Fraction
    value: Value
    grace: tuple[Value, ...]
    marks: tuple[str, ...]
    glides: bool
    """True if it glides into the next strike."""
    at: int
    width: int
    cell: Cell
    text: str = ""
    """Words above it."""
    slur: Literal["", "starts", "ends"] = ""


@dataclass(frozen=True, slots=True)
class SectionLine:
    """A ``|`` or ``||`` of the text, at its offset from the line's beginning in beats."""

    offset: Fraction
    double: bool
    spot: Spot


@dataclass(frozen=True, slots=True)
class Speed:
    """A group at a speed of its own (layakari): its start and end in beats of the line.

    ``speed`` is relative to the beat of the cycle, speeds of outer groups included; ``word`` is
    the trade's word if one is written and the group is not inside another.
    """

    start: Fraction
    end: Fraction
    speed: Fraction
    word: str


class Timed(NamedTuple):
    """A line's strikes, section lines, groups at speed and whole length in beats."""

    strikes: tuple[Strike, ...]
    section_lines: tuple[SectionLine, ...]
    speeds: tuple[Speed, ...]
    length: Fraction


def time_line(items: Iterable[Item], passage: PlacedText) -> tuple[Timed, list[Finding]]:
    """Lay the items of a line end to end."""
    clock = _Clock(passage)
    try:
        clock.run(tuple(items), Fraction(1))
    except _TooMany as stop:
        clock.findings.append(
            reading_rules.too_long(passage.spot(stop.at, stop.width), stop.message)
        )
    clock.finish()
    return Timed(
        tuple(clock.strikes), tuple(clock.lines), tuple(clock.speeds), clock.now
    ), clock.findings


class _TooMany(Exception):
    """The line unfolds to more than any line has; ``at`` and ``width`` are characters of it."""

    def __init__(self, message: str, at: int = 0, width: int = 1) -> None:
        super().__init__(message)
        self.message, self.at, self.width = message, at, width


class _Clock:
    def __init__(self, passage: PlacedText) -> None:
        self.passage = passage
        self.findings: list[Finding] = []
        self.strikes: list[Strike] = []
        self.lines: list[SectionLine] = []
        self.speeds: list[Speed] = []
        self.now = Fraction(0)
        self.silent = True
        self.gliding: Element | None = None
        self.count = 0
        self.shares: dict[tuple[int, int, int, int], tuple[Fraction, Fraction]] = {}
        """The beats of a cell and of each of its elements, by what they follow from."""

    def run(self, items: tuple[Item, ...], beat: Fraction) -> None:
        for item in items:
            if isinstance(item, Cell):
                self.cell(item, beat)
            elif isinstance(item, SectionMark):
                self.counted(1)
                spot = self.passage.spot(item.at, 1 + item.double)
                self.lines.append(SectionLine(self.now, item.double, spot))
            elif isinstance(item, Group):
                self.group(item, beat)
            elif isinstance(item, Repeat):
                for _ in range(item.times):
                    self.counted(1)
                    self.run(item.items, beat)
            elif isinstance(item, Slur):
                self.slur(item, beat)

    def slur(self, slur: Slur, beat: Fraction) -> None:
        first = len(self.strikes)
        self.run(slur.items, beat)
        if len(self.strikes) > first + 1:
            self.strikes[first] = replace(self.strikes[first], slur="starts")
            self.strikes[-1] = replace(self.strikes[-1], slur="ends")

    def group(self, group: Group, beat: Fraction) -> None:
        start, before = self.now, len(self.speeds)
        self.run(group.items, beat / group.speed)
        if self.now > start:
            word = group.word if beat == 1 else ""
            self.speeds.insert(before, Speed(start, self.now, group.speed / beat, word))

    def counted(self, more: int) -> None:
        self.count += more
        if self.count > MAX_STRIKES:
            raise _TooMany(f"with its repeats the line has more than {MAX_STRIKES:,} elements")

    def cell(self, cell: Cell, beat: Fraction) -> None:
        self.counted(len(cell.elements))
        shared = (beat.numerator, beat.denominator, cell.parts, len(cell.elements))
        if shared not in self.shares:
            whole = beat / cell.parts
            self.shares[shared] = whole, whole / len(cell.elements)
        whole, each = self.shares[shared]
        self.measured(whole, each, cell)
        for element in cell.elements:
            self.element(element, each, cell)

    def measured(self, whole: Fraction, each: Fraction, cell: Cell) -> None:
        """Stop before a cell that no line has room for, or that is cut too finely to add up."""
        if self.now + whole > MAX_BEATS:
            raise _TooMany(f"the line lasts more than {MAX_BEATS:,} beats", cell.at, cell.width)
        fine = self.now.denominator * each.denominator > MAX_DENOMINATOR
        if each < SHORTEST or (fine and (self.now + each).denominator > MAX_DENOMINATOR):
            what = "the speeds and cells up to here cut the beat too finely to be played"
            raise _TooMany(what, cell.at, cell.width)

    def element(self, element: Element, each: Fraction, cell: Cell) -> None:
        end = self.now + each
        if element.kind == "note" and element.value is not None:
            self.note(element, each, cell)
        elif element.kind == "rest":
            self.break_glide()
            self.silent = True
        elif not self.silent:
            last = self.strikes[-1]
            self.strikes[-1] = replace(last, length=end - last.start)
        self.now = end

    def note(self, element: Element, each: Fraction, cell: Cell) -> None:
        assert element.value is not None
        if element.glide_in and self.silent:
            self.stray_glide(element, "no note before it to glide from")
        elif (element.glide_in or self.gliding) and not self.silent:
            self.strikes[-1] = replace(self.strikes[-1], glides=True)
        self.gliding = element if element.glide_out else None
        self.silent = False
        self.strikes.append(
            Strike(
                start=self.now,
                length=each,
                value=element.value,
                grace=element.grace,
                marks=element.marks,
                glides=False,
                at=element.at,
                width=element.width,
                cell=cell,
                text=element.text,
            )
        )

    def break_glide(self) -> None:
        if self.gliding is not None:
            self.stray_glide(self.gliding, "no note after it to glide into")
            self.gliding = None

    def finish(self) -> None:
        self.break_glide()

    def stray_glide(self, element: Element, why: str) -> None:
        spot = self.passage.spot(element.at, element.width)
        self.findings.append(reading_rules.bad_cell(spot, f"this glide (~) has {why}", ["S~P"]))
