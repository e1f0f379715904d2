"""The rows of a line's text as cells and bars, each with its place in the row's sections."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import NamedTuple

from cyclechart.text.line_tree import Cell, Group, Item, Repeat, SectionMark
from cyclechart.text.reading import comments_in, read_line
from cyclechart.text.scripts import Script
from cyclechart.text.source import PlacedText
from cyclechart.text.timing import Timed, time_line

LONGEST_PICKUP = 40
"""Characters of a pickup that the rows below leave room for."""


class Column(NamedTuple):
    """A place that cells of several rows can stand at: in which section of the row (those of a
    pickup count up to -1), how many beats after its beginning; ``at_bar`` is the bar that closes
    the section. ``number`` counts what begins on the same beat."""

    section: int
    at_bar: bool
    beat: Fraction
    number: int = 0


class Entry(NamedTuple):
    """A cell with the brackets at it, or a bar, as written; ``at`` is its place in the text, and
    ``beat`` its time from the text's beginning."""

    column: Column
    text: str
    at: int
    beat: Fraction


@dataclass(frozen=True)
class TextRow:
    """A row: its number in the text, its cells and bars in order, the comment after them."""

    number: int
    entries: tuple[Entry, ...] = ()
    comment: str = ""


@dataclass(frozen=True)
class RowedText:
    """A text in rows, with its music; ``repeats``: whether it has a part that is said again."""

    rows: tuple[TextRow, ...]
    items: tuple[Item, ...]
    timed: Timed
    repeats: bool


class _Token(NamedTuple):
    """A bracket, cell or bar, from where to where it stands, and the beat that it comes on."""

    start: int
    end: int
    kind: str
    beat: Fraction


def rowed_text(passage: PlacedText, script: Script) -> RowedText | None:
    """Return a text in rows; None where it cannot be read completely."""
    items, findings = read_line(passage, script)
    timed, more = time_line(items, passage)
    if findings or more:
        return None
    tokens = _Tokens(passage.text)
    tokens.read(items, Fraction(0), Fraction(1))
    rows = tuple(_with_columns(row) for row in _rows(passage.text, tokens.found))
    return RowedText(_with_pickup(rows), items, timed, tokens.repeats)


def items_of(text: str, script: Script, like: PlacedText) -> tuple[Item, ...]:
    """Return the tree of a text in place of the text of another passage."""
    return read_line(PlacedText(like.source, text, 0), script)[0]


@dataclass
class _Tokens:
    """The tokens of a tree in the order of the text, those of a repeat once."""

    text: str
    found: list[_Token] = field(default_factory=list)
    repeats: bool = False

    def read(self, items: tuple[Item, ...], now: Fraction, beat: Fraction) -> Fraction:
        """Add the tokens of some items from a time on, and return the time at their end."""
        for item in items:
            if isinstance(item, Cell):
                self.found.append(_Token(item.at, item.at + item.width, "cell", now))
                now += beat / item.parts
            elif isinstance(item, SectionMark):
                self.found.append(_Token(item.at, item.at + 1 + item.double, "bar", now))
            else:
                now = self.inside(item, now, beat)
        return now

    def inside(self, item: Item, now: Fraction, beat: Fraction) -> Fraction:
        """Add the tokens of what stands in brackets, and return the time after it."""
        assert not isinstance(item, Cell | SectionMark)
        self.found.append(_Token(item.at, item.at + 1, "opens", now))
        speed = item.speed if isinstance(item, Group) else Fraction(1)
        end = self.read(item.items, now, beat / speed)
        stop = item.at + item.width
        sign = "]" if isinstance(item, Group) else ")"
        self.found.append(_Token(self.text.rindex(sign, item.at, stop), stop, "closes", end))
        if isinstance(item, Repeat):
            self.repeats = True
            return now + (end - now) * item.times
        return end


def _rows(text: str, tokens: list[_Token]) -> Iterator[TextRow]:
    """Yield the rows of a text, their entries with the beats of the whole text as columns."""
    comments = iter([*comments_in(text), (len(text) + 1, len(text) + 1)])
    comment = next(comments)
    left = iter([*tokens, _Token(len(text) + 1, len(text) + 1, "", Fraction(0))])
    token = next(left)
    start = 0
    for number, row in enumerate(text.split("\n")):
        end = start + len(row)
        here: list[_Token] = []
        while token.start < end:
            here.append(token)
            token = next(left)
        said = ""
        if comment[0] < end:  # a row has one at most, at its end
            said = text[comment[0] : comment[1]].rstrip()
            comment = next(comments)
        yield TextRow(number, tuple(_entries(text, here)), said)
        start = end + 1


def _entries(text: str, tokens: list[_Token]) -> Iterator[Entry]:
    """Yield the cells and bars of one row, brackets joined to the cells that they open and close
    at."""
    written, first = "", None
    for number, token in enumerate(tokens):
        first = first or token
        written += text[token.start : token.end]
        after = tokens[number + 1].kind if number + 1 < len(tokens) else "bar"
        joins = after == "closes" or (token.kind == "opens" and after != "bar")
        if joins and token.kind != "bar":
            continue
        column = Column(0, token.kind == "bar", first.beat)
        yield Entry(column, written, first.start, first.beat)
        written, first = "", None


def _with_columns(row: TextRow) -> TextRow:
    """Return a row with the beats of each section counted from its beginning."""
    section, begins, before = 0, None, None
    entries: list[Entry] = []
    for entry in row.entries:
        beat = entry.column.beat
        begins = beat if begins is None else begins
        if entry.column.at_bar:
            column = Column(section, True, Fraction(0))
            section, begins, before = section + 1, None, None
        else:
            column = Column(section, False, beat - begins)
            if before is not None and before[:3] == column[:3]:
                column = column._replace(number=before.number + 1)
            before = column
        entries.append(entry._replace(column=column))
    return replace(row, entries=tuple(entries))


def _with_pickup(rows: tuple[TextRow, ...]) -> tuple[TextRow, ...]:
    """Return the rows with the sections of a pickup counted up to -1: what comes before the first
    ``||``, where the row goes on after it and less music stands before it than between others."""
    first = next((row for row in rows if row.entries), None)
    spans = list(_spans(rows))
    if first is None or len(spans) < 2 or spans[0] >= max(spans[1:]):
        return rows
    bar = next((n for n, entry in enumerate(first.entries) if entry.text == "||"), None)
    if bar is None or bar + 1 == len(first.entries):
        return rows
    if sum(len(entry.text) + 1 for entry in first.entries[: bar + 1]) > LONGEST_PICKUP:
        return rows
    sections = first.entries[bar].column.section + 1
    moved = tuple(
        entry._replace(column=entry.column._replace(section=entry.column.section - sections))
        for entry in first.entries
    )
    return tuple(replace(row, entries=moved) if row is first else row for row in rows)


def _spans(rows: tuple[TextRow, ...]) -> Iterator[int]:
    """Yield how many cells stand before, between and after the ``||`` of a text."""
    count = 0
    for row in rows:
        for entry in row.entries:
            if entry.text == "||":
                yield count
                count = 0
            else:
                count += not entry.column.at_bar
    if count:
        yield count
