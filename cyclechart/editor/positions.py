"""Places in a text as an editor counts them: rows from 0, columns in units of an encoding."""

from __future__ import annotations

import bisect
from typing import NamedTuple

from cyclechart.finding import Spot
from cyclechart.text.source import Source


class At(NamedTuple):
    """A position of an editor: its row and its column in units of the encoding, both from 0."""

    row: int
    column: int


def units(text: str, encoding: str) -> int:
    """Return how many units of an encoding (utf-8, utf-16, utf-32) a text has.

    Language Server Protocol 3.17, "Position": an editor counts UTF-16 code units unless both sides
    agree on another encoding.
    """
    if text.isascii() or encoding == "utf-32":
        return len(text)
    if encoding == "utf-8":
        return len(text.encode("utf-8", "surrogatepass"))
    return len(text) + sum(letter > "\uffff" for letter in text)


def letters(text: str, column: int, encoding: str) -> int:
    """Return the index of the letter that a column in units falls on; past the row, its end."""
    if text.isascii() or encoding == "utf-32":
        return max(0, min(column, len(text)))
    passed = 0
    for index, letter in enumerate(text):
        passed += units(letter, encoding)
        if passed > column:
            return index
    return len(text)


class Positions:
    """Turns places of a text into an editor's positions and back.

    ``source`` has the text with plain line ends. ``mark``: it begins with a byte-order mark in the
    editor, which the text does not have.
    """

    def __init__(self, source: Source, encoding: str, *, mark: bool = False) -> None:
        self.source, self.encoding, self.mark = source, encoding, mark

    def at(self, offset: int) -> At:
        """Return the position of a character offset."""
        offset = max(0, min(offset, len(self.source.text)))
        row = bisect.bisect_right(self.source.starts, offset) - 1
        before = self.source.text[self.source.starts[row] : offset]
        return At(row, units(before, self.encoding) + self._mark(row))

    def of_spot(self, spot: Spot) -> tuple[At, At]:
        """Return where a place of the text begins and ends, within its row."""
        row = max(0, min(spot.line, len(self.source.starts))) - 1
        line = self.source.line(spot.line)
        first = min(spot.column - 1, len(line))
        last = min(first + spot.width, len(line))
        start, end = (
            units(line[:index], self.encoding) + self._mark(row) for index in (first, last)
        )
        return At(row, start), At(row, max(start, end))

    def offset(self, at: At) -> int:
        """Return the character offset of a position; past its row the row's end."""
        if at.row >= len(self.source.starts):
            return len(self.source.text)
        line = self.source.line(at.row + 1)
        column = at.column - self._mark(at.row)
        return self.source.starts[at.row] + letters(line, column, self.encoding)

    def _mark(self, row: int) -> int:
        return units("\ufeff", self.encoding) if self.mark and not row else 0
