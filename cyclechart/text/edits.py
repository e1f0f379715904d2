"""Edits on the text of a file: placed in it, and carried out."""

from __future__ import annotations

import codecs
import re
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import replace

from cyclechart.finding import Edit, Spot
from cyclechart.text.source import Source

Edits = tuple[Edit, ...]

_LINE_END = re.compile(r"\r\n|\r|\n")


def between(source: Source, start: int, end: int, text: str) -> Edit:
    """Return the edit that puts a text in place of what stands from one offset to another."""
    first, last = source.spot(start), source.spot(end)
    if first.line == last.line:
        width = last.column - first.column
    else:
        width = end - start
        for row in range(first.line - 1, last.line):
            put_in = (source.starts[row] + column for column in source.quoted.get(row, ()))
            width -= sum(start <= at < end for at in put_in)
    return Edit(replace(first, width=width), text)


def offset_of(source: Source, spot: Spot) -> int:
    """Return the character offset of a place in a file's text as it is written; past it, its end.

    ``source`` is the text of the file itself, not one mended in memory.
    """
    if spot.line > len(source.starts):
        return len(source.text)
    return min(source.starts[spot.line - 1] + spot.column - 1, len(source.text))


def with_edits(source: Source, edits: Iterable[Edit]) -> str:
    """Return a file's text with edits carried out, all of them placed in the text as it was;
    what is put in at one place stands there in the order given.

    Raises ``ValueError`` where two of them change the same characters.
    """
    return _carried_out(source.text, _ranges(source, edits))


def with_edits_in_file(data: bytes, edits: Iterable[Edit]) -> bytes:
    """Return the bytes of a file in UTF-8 with edits carried out; its byte-order mark and its line
    ends stay, and new lines end as the first one does.

    Raises ``ValueError`` where two of them change the same characters.
    """
    mark = codecs.BOM_UTF8 if data.startswith(codecs.BOM_UTF8) else b""
    written = data.removeprefix(mark).decode("utf-8")
    ends = list(_LINE_END.finditer(written))
    starts = [0, *(end.end() for end in ends)]
    plain = Source.of("", _LINE_END.sub("\n", written))
    line_end = ends[0][0] if ends else "\n"

    def offset_in_file(offset: int) -> int:
        row = bisect_right(plain.starts, offset) - 1
        return starts[row] + offset - plain.starts[row]

    ranges = [
        (offset_in_file(start), offset_in_file(stop), new.replace("\n", line_end))
        for start, stop, new in _ranges(plain, edits)
    ]
    return mark + _carried_out(written, ranges).encode("utf-8")


_Range = tuple[int, int, str]
"""From which offset to which there is another text."""


def _ranges(source: Source, edits: Iterable[Edit]) -> list[_Range]:
    """Return edits in the order of their places, each once."""
    placed = [(offset_of(source, one.spot), one) for one in edits]
    ranges = dict.fromkeys((start, start + one.spot.width, one.text) for start, one in placed)
    return sorted(ranges, key=lambda one: one[:2])


def _carried_out(text: str, ranges: Iterable[_Range]) -> str:
    end = len(text)
    for start, stop, new in reversed([*ranges]):
        if stop > end:
            raise ValueError("two edits change the same characters")
        text = text[:start] + new + text[stop:]
        end = start
    return text
