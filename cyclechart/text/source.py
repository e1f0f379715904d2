"""The text of a file in which every character has its place, and its reading from bytes."""

from __future__ import annotations

import bisect
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import NamedTuple

from cyclechart.finding import Edit, Finding, Spot, Suggestion
from cyclechart.text import reading_rules

MAX_BYTES = 2_000_000


@dataclass(frozen=True)
class Source:
    """A file's name and text, with the place of any offset."""

    file: str
    text: str
    starts: tuple[int, ...] = field(repr=False)
    quoted: dict[int, tuple[int, ...]] = field(default_factory=dict, repr=False)
    """Rows (0-based) with a value quoted in memory: the columns of the characters put in."""

    @classmethod
    def of(cls, file: str, text: str, quoted: dict[int, tuple[int, ...]] | None = None) -> Source:
        starts = [0]
        at = text.find("\n")
        while at >= 0:
            starts.append(at + 1)
            at = text.find("\n", at + 1)
        return cls(file, text, tuple(starts), quoted or {})

    def spot(self, offset: int, width: int = 1) -> Spot:
        """The place of a character offset (clamped to the text)."""
        offset = max(0, min(offset, len(self.text)))
        row = bisect.bisect_right(self.starts, offset) - 1
        column = offset - self.starts[row]
        column -= bisect.bisect_left(self.quoted.get(row, ()), column)
        return Spot(self.file, row + 1, column + 1, max(1, width))

    def line(self, number: int) -> str:
        """The text of a 1-based line, without its end."""
        if not 1 <= number <= len(self.starts):
            return ""
        end = self.starts[number] if number < len(self.starts) else len(self.text)
        return self.text[self.starts[number - 1] : end].rstrip("\r\n")


class PlacedText(NamedTuple):
    """A text of the file in which every character knows its place.

    ``places``: the offset of each character, where they do not simply follow each other; one more
    at the end, that of what follows, lets a width be that in the file.
    """

    source: Source
    text: str
    base: int
    places: tuple[int, ...] | None = None
    style: str | None = "|"
    """How it is written: None for plain, a quote, or a block, in which all stands as it is."""
    end: int = -1
    """The offset at which its last character ends; -1 for that of its length."""

    def place(self, at: int) -> int:
        """The offset in the file of the character at an index of ``text``, or of its end."""
        if self.places is None:
            return self.base + at
        if at < len(self.places):
            return self.places[at]
        return self.places[-1] + 1 if self.places else self.base

    def spot(self, at: int, width: int = 1) -> Spot:
        """The place of the character at an index of ``text``."""
        if self.places is None:
            return self.source.spot(self.base + at, width)
        if not self.places:
            return self.source.spot(self.base, width)
        last = max(0, len(self.text) - 1)
        spot = self.source.spot(self.places[min(at, last)], width)
        if len(self.places) > len(self.text) >= at + width:
            end = self.source.spot(self.places[at + width])
            if end.line == spot.line:
                return replace(spot, width=max(1, end.column - spot.column))
        return spot


def bytes_of(path: Path) -> bytes:
    """Return the bytes of a file, of one that is too large one more than a file has at most.

    Raises OSError.
    """
    with path.open("rb") as stream:
        return stream.read(MAX_BYTES + 1)


def with_plain_ends(text: str) -> str:
    """Return a text in which every row ends with a line feed alone."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


def decode(file: str, data: bytes) -> tuple[Source | None, list[Finding]]:
    """Return the text of a file's bytes (UTF-8, a byte-order mark allowed), or a finding."""
    if len(data) > MAX_BYTES:
        what = f"the file has {len(data):,} bytes; a piece has at most {MAX_BYTES:,}"
        return None, [reading_rules.too_long(Spot(file, 1, 1), what)]
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8", "replace")
        spot = Source.of(file, before).spot(len(before))
        return None, [
            reading_rules.unreadable(spot, "this is not UTF-8 text", ["save it as UTF-8"])
        ]
    text = with_plain_ends(text)
    for offset, letter in enumerate(text):
        if not (letter.isprintable() or letter in "\n\t") and not _allowed(letter):
            what = f"there is a control character (U+{ord(letter):04X}) here"
            spot = Source.of(file, text).spot(offset)
            deleted = Suggestion("delete it", (Edit(spot, ""),))
            return None, [reading_rules.unreadable(spot, what, [deleted])]
    return Source.of(file, text), []


def _allowed(letter: str) -> bool:
    """Joiners and direction marks that scripts need, and spaces; but no control characters.

    NEL and the line and paragraph separators are line breaks to YAML and would shift every place.
    """
    code = ord(letter)
    return code >= 0xA0 and not 0xD800 <= code <= 0xDFFF and code not in (0x2028, 0x2029, 0xFEFF)
