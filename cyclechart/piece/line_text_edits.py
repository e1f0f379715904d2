"""Edits on the music of a line as it is written: beats put in or cut, section lines moved."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import NamedTuple

from cyclechart.piece.line import Line
from cyclechart.piece.line_text import script_named
from cyclechart.piece.model import Piece
from cyclechart.piece.shape import TEXTS
from cyclechart.text.chord_script import CHORDS, chords_script
from cyclechart.text.edits import Edits
from cyclechart.text.line_tree import Cell, Group, Item, Repeat, SectionMark
from cyclechart.text.nodes import Scalar
from cyclechart.text.passage_edits import Change, rewritten_in
from cyclechart.text.reading import read_line
from cyclechart.text.source import PlacedText
from cyclechart.text.timing import SectionLine

MOST_BEATS = 64
"""The most beats that are put in: more than a cycle or two is no slip."""


class _PlacedItem(NamedTuple):
    """An item of a line that is in no group or repeat, and the beats before and after it."""

    item: Item
    start: Fraction
    end: Fraction


class LineText:
    """The text of a line and its items, for edits."""

    def __init__(self, passage: PlacedText, items: Iterable[Item]) -> None:
        self.passage, self.text = passage, passage.text
        self.items = list(_placed(items))

    def edits(self, *changes: Change | None) -> Edits:
        """Return the edits that do changes; () where one of them cannot be done."""
        if not all(changes):
            return ()
        known = [change for change in changes if change is not None]
        return rewritten_in(self.passage, *known)

    def at_end(self, text: str) -> Change | None:
        """Return the change that writes more behind the last item."""
        if not self.items:
            return None
        item = self.items[-1].item
        width = (1 + item.double) if isinstance(item, SectionMark) else item.width
        return Change(item.at + width, "", f" {text}")

    def cut(self, begin: int, end: int) -> Change:
        """Return the change that takes characters out."""
        return Change(begin, self.text[begin:end], "")

    def last_note(self) -> int | None:
        """Return the number of the item that the last note begins; None where it begins none."""
        for number in range(len(self.items) - 1, -1, -1):
            item = self.items[number].item
            if isinstance(item, SectionMark):
                continue
            if not isinstance(item, Cell):
                return None
            kinds = [element.kind for element in item.elements]
            if "note" in kinds:
                return number if kinds[0] == "note" and kinds.count("note") == 1 else None
        return None


def line_text(piece: Piece, line: Line) -> LineText | None:
    """Return the text of a line as it is written, if it has one and it could be read."""
    node = piece.nodes.mapping("lines", line.name) if piece.nodes is not None else None
    key = next((key for key in TEXTS if node is not None and key in node.pairs), None)
    if piece.nodes is None or node is None or key is None or not line.whole:
        return None
    scalar = node.get(key)
    if not isinstance(scalar, Scalar) or scalar.spot.line - 1 in scalar.source.quoted:
        return None
    passage = scalar.passage()
    script = (
        chords_script(passage.text, piece.tonic)
        if key == CHORDS
        else script_named(key, piece.tonic)
    )
    items, findings = read_line(passage, script)
    if findings:
        return None
    return LineText(passage, items)


def beats_at_end(piece: Piece, line: Line, beats: Fraction) -> Edits:
    """Return the edits that make a line longer at its end."""
    text = line_text(piece, line)
    return text.edits(text.at_end(_held(beats))) if text and beats <= MOST_BEATS else ()


def beats_before_last(
    piece: Piece, line: Line, beats: Fraction, stays: Iterable[SectionLine]
) -> Edits:
    """Return the edits that put beats in before the last note of a line, or below 0 cut them.

    ``stays``: the section lines that stand right; one before the last note keeps its place.
    """
    text = line_text(piece, line)
    number = text.last_note() if text is not None else None
    if text is None or not number or abs(beats) > MOST_BEATS:
        return ()
    last = text.items[number]
    if beats < 0:
        return _cut_before(text, number, last.start + beats)
    right = {bar.offset for bar in stays if not bar.double}
    while isinstance(text.items[number - 1].item, SectionMark) and last.start not in right:
        number -= 1
    return text.edits(Change(text.items[number].item.at, "", f"{_held(beats)} "))


def _cut_before(text: LineText, number: int, start: Fraction) -> Edits:
    """Return the edits that cut what stands between a beat and an item."""
    for first in range(number - 1, -1, -1):
        placed = text.items[first]
        if not isinstance(placed.item, Cell | SectionMark) or placed.start < start:
            return ()
        if placed.start == start and isinstance(placed.item, Cell):
            return text.edits(text.cut(placed.item.at, text.items[number].item.at))
    return ()


def section_lines_moved(
    piece: Piece, line: Line, bars: Iterable[SectionLine], by: Fraction
) -> Edits:
    """Return the edits that move section lines by so many beats; () where one would stand within
    a cell."""
    text = line_text(piece, line)
    if text is None:
        return ()
    return text.edits(*(one for bar in bars for one in _moved(text, bar, bar.offset + by)))


def section_line_removed(piece: Piece, line: Line, bar: SectionLine) -> Edits:
    """Return the edits that take a section line out."""
    text = line_text(piece, line)
    at = _mark(text, bar) if text is not None else None
    return text.edits(_without_mark(text, at)) if text is not None and at is not None else ()


def _moved(text: LineText, bar: SectionLine, to: Fraction) -> tuple[Change | None, Change | None]:
    """Return the changes that take a section line out and write it elsewhere; None for one that
    cannot be done."""
    mark = _mark(text, bar)
    if mark is None:
        return None, None
    sign, there = "||" if bar.double else "|", None
    if text.items and text.items[-1].end == to:
        there = text.at_end(sign)
    for item, start, _ in text.items:
        if start == to and not isinstance(item, SectionMark):
            there = Change(item.at, "", f"{sign} ")
            break
    return _without_mark(text, mark), there


def _mark(text: LineText, bar: SectionLine) -> SectionMark | None:
    """Return the mark of a section line, if it stands in no group or repeat."""
    for item, start, _ in text.items:
        if isinstance(item, SectionMark) and start == bar.offset and item.double == bar.double:
            spot = text.passage.spot(item.at)
            if (spot.line, spot.column) == (bar.spot.line, bar.spot.column):
                return item
    return None


def _without_mark(text: LineText, mark: SectionMark) -> Change:
    """Return the change that takes a mark out, with a space beside it."""
    begin, end = mark.at, mark.at + 1 + mark.double
    if text.text[end : end + 1] == " ":
        end += 1
    elif text.text[begin - 1 : begin] == " ":
        begin -= 1
    return text.cut(begin, end)


def _placed(items: Iterable[Item]) -> Iterator[_PlacedItem]:
    at = Fraction(0)
    for item in items:
        end = at + _length(item)
        yield _PlacedItem(item, at, end)
        at = end


def _length(item: Item) -> Fraction:
    match item:
        case SectionMark():
            return Fraction(0)
        case Cell(parts=parts):
            return Fraction(1, parts)
        case Group(items=items, speed=speed):
            return _total(items) / speed
        case Repeat(items=items, times=times):
            return _total(items) * times
    return _total(item.items)


def _total(items: Iterable[Item]) -> Fraction:
    return sum(map(_length, items), Fraction(0))


def _held(beats: Fraction) -> str:
    """Return so many beats of holding on as cells: ``- - -/2``."""
    whole, rest = divmod(beats, 1)
    return " ".join(["-"] * int(whole) + [f"-/{rest.denominator}"] * rest.numerator * bool(rest))
