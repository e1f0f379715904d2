"""A phrase as the text of a line again: notes with exact times as cells, groups and section lines.

What is written so reads back to the same notes.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import lcm

from cyclechart.piece.note import Note, Phrase
from cyclechart.text.line_tree import (
    MAX_DIVISOR,
    MAX_ELEMENTS_IN_CELL,
    MAX_SPEED,
    Cell,
    Element,
    Group,
    Item,
    SectionMark,
    write_items,
)
from cyclechart.text.scripts import Script
from cyclechart.text.timing import Speed
from cyclechart.theory.cycle import Cycle

MOST_SHORT_CELLS = 8
"""The most cells in a row of a part of a beat each; more are written as a group."""
MOST_NESTED = 6
_WHOLE = Fraction(1)

Section = tuple[Fraction, bool]
"""The place of a section line in beats of the phrase, and whether the first beat falls there."""


def text_of(phrase: Phrase, script: Script, sections: Sequence[Section] = ()) -> str:
    """Return a phrase of tones or strokes as text, with section lines at some places."""
    return write_items(tree_of(phrase, sections), script)


def tree_of(phrase: Phrase, sections: Sequence[Section] = ()) -> tuple[Item, ...]:
    """Return a phrase as the tree of a line's text."""
    writer = _Writer(phrase.notes, phrase.length)
    marks = [(at, double) for at, double in sections if 0 < at < phrase.length]
    return tuple(writer.span(Fraction(0), phrase.length, _WHOLE, list(phrase.speeds), marks))


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


class _Writer:
    """Writes notes as cells, from the beginning on."""

    def __init__(self, notes: tuple[Note, ...], length: Fraction) -> None:
        self.notes = notes
        self.starts = [note.start for note in notes]
        ends = [
            note.end
            for note, after in pairwise((*notes, None))
            if note is not None and note.end < (length if after is None else after.start)
        ]
        self.edges = sorted({*self.starts, *ends})

    def span(
        self,
        start: Fraction,
        end: Fraction,
        unit: Fraction,
        speeds: list[Speed],
        marks: list[Section],
        depth: int = 0,
    ) -> Iterator[Item]:
        """Yield what stands between two times, where a cell lasts ``unit`` beats."""
        at = start
        while at < end:
            for offset, double in marks:
                if offset == at:
                    yield SectionMark(double)
            group = self.group_at(at, end, unit, speeds, depth)
            if group is not None:
                inner = [one for one in speeds if one is not group and _is_inside(one, group)]
                cell = 1 / group.speed
                items = self.span(at, group.end, cell, inner, [], depth + 1)
                yield Group(tuple(items), group.speed * unit)
                at = group.end
                continue
            stops = [offset for offset, _ in marks if offset > at]
            stops += [one.start for one in speeds if one.start > at]
            stop = min([at + unit, end, *stops])
            yield from self.cells(at, stop, unit, depth)
            at = stop

    def group_at(
        self, at: Fraction, end: Fraction, unit: Fraction, speeds: list[Speed], depth: int
    ) -> Speed | None:
        """Return the group that begins at a time and can be written there; None for none."""
        for one in speeds:
            ratio = one.speed * unit
            fits = one.start == at and at < one.end <= end and depth < MOST_NESTED
            if fits and ratio != 1 and Fraction(1, MAX_SPEED) <= ratio <= MAX_SPEED:
                return one
        return None

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
            elements = [self.element(start + each * n, fresh=not n) for n in range(count)]
            return Cell(tuple(elements), parts)
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
            value = note.syllable if note.pitch is None else note.pitch
            return Element("note", value, note.grace, note.marks, glide_out=note.glides)
        if note is not None and at < note.end:
            return Element("hold")
        rests_here = note is not None and note.end == at
        return Element("rest" if fresh or rests_here else "hold")


def _at_speed(ratio: Fraction, items: tuple[Item, ...]) -> list[Item]:
    """Items at a speed, which may take groups in groups."""
    while not Fraction(1, MAX_SPEED) <= ratio <= MAX_SPEED:
        step = Fraction(MAX_SPEED) if ratio > 1 else Fraction(1, MAX_SPEED)
        items, ratio = (Group(items, step),), ratio / step
    return list(items) if ratio == 1 else [Group(items, ratio)]


def _is_inside(one: Speed, group: Speed) -> bool:
    return group.start <= one.start and one.end <= group.end
