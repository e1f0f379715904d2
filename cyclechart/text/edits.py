"""Edits carried out on the text of a file."""

from __future__ import annotations

from collections.abc import Iterable

from cyclechart.finding import Edit, Spot
from cyclechart.text.source import Source


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
    text = source.text
    end = len(text)
    once = dict.fromkeys((offset_of(source, one.spot), one) for one in edits)
    placed = sorted(once, key=_place)
    for start, edit in reversed(placed):
        stop = start + edit.spot.width
        if stop > end:
            raise ValueError("two edits change the same characters")
        text = text[:start] + edit.text + text[stop:]
        end = start
    return text


def _place(placed: tuple[int, Edit]) -> tuple[int, int]:
    start, edit = placed
    return start, edit.spot.width
