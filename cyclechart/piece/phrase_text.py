"""A phrase as the text of a line again: notes with exact times as cells, groups and section lines.

What is written so reads back to the same notes.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import lcm

from cyclechart.piece.hairpins_and_slurs import slurs_of
from cyclechart.piece.note import Note, Phrase
from cyclechart.text.chord_script import is_of_chord
from cyclechart.text.line_tree import (
    MAX_DIVISOR,
    MAX_ELEMENTS_IN_CELL,
    MAX_SPEED,
    Cell,
    Element,
    Group,
    Item,
    SectionMark,
    Slur,
    write_items,
)
from cyclechart.text.scripts import Script, Value
from cyclechart.text.timing import Speed
from cyclechart.theory.chord_symbols import ChordSymbol
from cyclechart.theory.cycle import Cycle

MOST_SHORT_CELLS = 8
"""The most cells in a row of a part of a beat each; more are written as a group."""
MOST_NESTED = 5
"""The most groups in groups: they leave room for a slur, and for a full cell in it."""
_WHOLE = Fraction(1)

Section = tuple[Fraction, bool]
"""The place of a section line in beats of the phrase, and whether the first beat falls there."""


def text_of(phrase: Phrase, script: Script, sections: Sequence[Section] = ()) -> str:
    """Return a phrase as text, with section lines at some places."""
    return write_items(tree_of(phrase, sections), script)


def tree_of(phrase: Phrase, sections: Sequence[Section] = ()) -> tuple[Item, ...]:
    """Return a phrase as the tree of a line's text."""
    writer = _Writer(phrase.notes, phrase.length)
    within = ((at, double) for at, double in sections if 0 < at < phrase.length)
    marks = sorted(within, key=lambda mark: mark[0])
    zero = Fraction(0)
    return tuple(writer.span(_Span(zero, phrase.length, _WHOLE, phrase.speeds, marks, zero)))


def sections_of(cycle: Cycle, begins: Fraction, length: Fraction) -> list[Section]:
    """Return the section lines of a line that begins on a beat of a cycle."""
    found: list[Section] = []
    at = 1 - begins
    while at < length:
        for start in cycle.starts:
            if 0 < at + start < length:
                found.append((at + start, start == 0))
        at += cycle.beats
    return found


@dataclass(frozen=True, slots=True)
class _Slur:
    """A slur: when its first and its last note start, and when the note after it does."""

    first: Fraction
    last: Fraction
    after: Fraction


@dataclass(frozen=True, slots=True)
class _Span:
    """A run of time in which a cell lasts ``unit`` beats: all, a group or a slur.

    ``speeds`` and ``marks`` are the groups and the section lines in it. Cells are counted from
    ``grid``. ``slurred``: it is within a slur.
    """

    start: Fraction
    end: Fraction
    unit: Fraction
    speeds: Sequence[Speed]
    marks: Sequence[Section]
    grid: Fraction
    depth: int = 0
    slurred: bool = False

    def cell_end(self, at: Fraction, grid: Fraction) -> Fraction:
        """Return where the cell ends that a time is in."""
        return grid + ((at - grid) // self.unit + 1) * self.unit

    def under(self, slur: _Slur, grid: Fraction) -> _Span:
        """Return the run under a slur: to the end of the cell or the group of its last note."""
        marks = [offset for offset, _ in self.marks]
        here = max([grid, *(offset for offset in marks if offset <= slur.last)])
        latest = min(slur.after, self.end)
        later = [offset for offset in marks if offset > slur.last]
        later += [one.start for one in self.speeds if one.start > slur.last]
        stop = min([self.cell_end(slur.last, here), latest, *later])
        for one in self.speeds:
            if slur.first <= one.start <= slur.last < one.end <= latest:
                stop = max(stop, one.end)
        return replace(
            self,
            start=slur.first,
            end=stop,
            speeds=[one for one in self.speeds if slur.first <= one.start and one.end <= stop],
            marks=[mark for mark in self.marks if slur.first < mark[0] < stop],
            grid=grid,
            slurred=True,
        )

    def inside(self, group: Speed) -> _Span:
        """Return the run in a group; section lines cannot stand there."""
        inner = [one for one in self.speeds if one is not group and _is_inside(one, group)]
        unit, deeper = 1 / group.speed, self.depth + 1
        return _Span(group.start, group.end, unit, inner, [], group.start, deeper, self.slurred)


class _Writer:
    """Writes notes as cells, from the beginning on."""

    def __init__(self, notes: tuple[Note, ...], length: Fraction) -> None:
        self.notes = notes
        self.starts = [note.start for note in notes]
        after = [*self.starts, length][1:]
        ends = [note.end for note, then in zip(notes, after, strict=True) if note.end < then]
        self.edges = sorted({*self.starts, *ends})
        self.slurs = {
            self.starts[first]: _Slur(self.starts[first], self.starts[last], after[last])
            for first, last in slurs_of(notes)
        }
        self.slurred = sorted(self.slurs)

    def span(self, here: _Span) -> Iterator[Item]:
        """Yield what stands in a run of time."""
        at, grid = here.start, here.grid
        offsets = [offset for offset, _ in here.marks]
        while at < here.end:
            for _, double in here.marks[bisect_left(offsets, at) : bisect_right(offsets, at)]:
                grid = at
                yield SectionMark(double)
            group = self.group_at(at, here)
            slur = None if here.slurred else self.slurs.get(at)
            if group is not None:
                yield Group(tuple(self.span(here.inside(group))), group.speed * here.unit)
                at = grid = group.end
            elif slur is not None and slur.last < here.end:
                under = here.under(slur, grid)
                yield Slur(tuple(self.span(under)))
                at = under.end
            else:
                number = bisect_right(offsets, at)
                stop = self.stop_after(at, here, grid, offsets[number : number + 1])
                yield from self.cells(at, stop, here.unit, here.depth)
                at = stop

    def stop_after(
        self, at: Fraction, here: _Span, grid: Fraction, mark: Sequence[Fraction]
    ) -> Fraction:
        """Return the end of what can be written as a cell from a time on, up to the next mark."""
        stops = [*mark]
        stops += [one.start for one in here.speeds if one.start > at]
        if not here.slurred:
            number = bisect_right(self.slurred, at)
            stops += self.slurred[number : number + 1]
        return min([here.cell_end(at, grid), here.end, *stops])

    def group_at(self, at: Fraction, here: _Span) -> Speed | None:
        """Return the group that begins at a time and can be written there; None for none."""
        for one in here.speeds:
            ratio = one.speed * here.unit
            fits = one.start == at and at < one.end <= here.end and here.depth < MOST_NESTED
            if not fits or ratio == 1 or not Fraction(1, MAX_SPEED) <= ratio <= MAX_SPEED:
                continue
            if here.slurred or not self.slurs_out_of(one):
                return one
        return None

    def slurs_out_of(self, group: Speed) -> bool:
        """Return whether a slur begins in a group, or with it, and ends after it."""
        number = bisect_left(self.slurred, group.end) - 1
        if number < 0 or self.slurred[number] < group.start:
            return False
        return self.slurs[self.slurred[number]].last >= group.end

    def cells(self, start: Fraction, end: Fraction, unit: Fraction, depth: int) -> Iterator[Item]:
        """Yield up to one whole cell: in one piece, or in as many as it takes."""
        share = (end - start) / unit
        times, parts = share.numerator, share.denominator
        if parts <= MAX_DIVISOR and times <= MOST_SHORT_CELLS:
            for number in range(times):
                begin = start + number * unit / parts
                yield self.cell(begin, begin + unit / parts, unit, parts, depth)
        else:
            yield from _at_speed(1 / share, (self.cell(start, end, end - start, 1, depth + 1),))

    def cell(self, start: Fraction, end: Fraction, unit: Fraction, parts: int, depth: int) -> Item:
        """Return one cell of a ``parts``th of a unit; a group where it would be too full."""
        length = end - start
        first, last = bisect_right(self.edges, start), bisect_left(self.edges, end)
        inside = self.edges[first:last]
        count = lcm(*(((edge - start) / length).denominator for edge in inside))
        if count <= MAX_ELEMENTS_IN_CELL:
            each = length / count
            elements = tuple(self.element(start + each * n, fresh=not n) for n in range(count))
            if _ends_as_chord(elements[-1], parts):
                return Group((Cell(elements),), Fraction(parts))
            return Cell(elements, parts)
        for cells in range(2, MAX_SPEED // parts + 1):
            if count % cells == 0 and count // cells <= MAX_ELEMENTS_IN_CELL:
                small = length / cells
                items = [
                    self.cell(start + small * n, start + small * (n + 1), small, 1, depth + 1)
                    for n in range(cells)
                ]
                return Group(tuple(items), Fraction(cells * parts))
        return self.one_by_one([start, *inside, end], unit)

    def one_by_one(self, edges: list[Fraction], unit: Fraction) -> Item:
        """Return a group of groups, one for each note or rest of any length."""
        items: list[Item] = []
        for start, end in pairwise(edges):
            items += _at_speed(unit / (end - start), (Cell((self.element(start, fresh=True),)),))
        return Group(tuple(items), _WHOLE)

    def element(self, at: Fraction, *, fresh: bool) -> Element:
        """Return what stands at a time: a note, one that is held, or a rest; ``fresh``: first in
        its cell."""
        number = bisect_right(self.starts, at) - 1
        note = self.notes[number] if number >= 0 else None
        if note is not None and note.start == at:
            marks, words = note.marks, note.text
            return Element(
                "note", _value(note), note.grace, marks, glide_out=note.glides, text=words
            )
        if note is not None and at < note.end:
            return Element("hold")
        rests_here = note is not None and note.end == at
        return Element("rest" if fresh or rests_here else "hold")


def _value(note: Note) -> Value:
    """Return what a note is in its script."""
    if note.pitch is not None:
        return note.pitch
    return note.chord or "+".join(note.drums) or note.syllable


def _ends_as_chord(last: Element, parts: int) -> bool:
    """Return whether the divisor of a cell would be read as a part of its last chord: 6/9."""
    value = last.value
    if not isinstance(value, ChordSymbol) or value.bass is not None or parts == 1:
        return False
    return is_of_chord(value.suffix, str(parts))


def _at_speed(ratio: Fraction, items: tuple[Item, ...]) -> list[Item]:
    """Items at a speed, which may take groups in groups."""
    while not Fraction(1, MAX_SPEED) <= ratio <= MAX_SPEED:
        step = Fraction(MAX_SPEED) if ratio > 1 else Fraction(1, MAX_SPEED)
        items, ratio = (Group(items, step),), ratio / step
    return list(items) if ratio == 1 else [Group(items, ratio)]


def _is_inside(one: Speed, group: Speed) -> bool:
    return group.start <= one.start and one.end <= group.end
