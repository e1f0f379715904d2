"""Texts of lines that are not indented as YAML needs it: what is wrong, and the edits."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from cyclechart.finding import Edit, Spot, Suggestion
from cyclechart.text.excerpts import clip
from cyclechart.text.source import Source

_BLOCK_HEAD = re.compile(r"(?P<lead> *(?:- +)*)(?P<key>[\w-]+): *[|>][+-]? *(?:#.*)?$")
_KEY_ROW = re.compile(r" *(?:- +)*[\w-]+:(?: |$)")
MOST_ROWS = 500


class BadIndentation(NamedTuple):
    """The row (from 0) of a text that is not indented enough, a sentence, and what to try."""

    row: int
    message: str
    suggestion: Suggestion


def bad_indentation(source: Source, row: int) -> BadIndentation | None:
    """Return what is wrong where a row (from 0) that YAML stumbles over, or the one before it,
    belongs to a text in a block above; None where it does not."""
    rows = source.text.split("\n")
    for at in (row, row - 1):
        if 0 <= at < len(rows):
            found = _row_of_block(source, rows, at)
            if found is not None:
                return found
    return None


def _row_of_block(source: Source, rows: Sequence[str], row: int) -> BadIndentation | None:
    text = rows[row]
    if (
        not text.strip()
        or text.startswith("\t")
        or _KEY_ROW.match(text)
        or text.lstrip().startswith("#")
    ):
        return None
    above = _block_above(rows, row)
    if above is None:
        return None
    head, key, column = above
    inset = _inset(text)
    inside = [_inset(one) for one in rows[head + 1 : row] if one.strip()]
    wanted = inside[0] if inside else column + 2
    if inset >= wanted:
        return None
    if inside:
        message = (
            f"this row is indented less than the text of '{key}' above it: it is no part of it"
        )
    else:
        message = f"the text of '{key}' must be indented further than '{key}' itself"
    edits = tuple(_indented(source, rows, row, wanted))
    return BadIndentation(
        row, message, Suggestion(f"{wanted} spaces before it: {clip(text.strip(), 200)}", edits)
    )


def _block_above(rows: Sequence[str], row: int) -> tuple[int, str, int] | None:
    """Return the row of the head of the block that a row stands below, its key and its column."""
    for at in range(row - 1, max(-1, row - MOST_ROWS), -1):
        head = _BLOCK_HEAD.fullmatch(rows[at])
        if head is not None:
            return at, head["key"], len(head["lead"])
        if _KEY_ROW.match(rows[at]):
            return None
    return None


def _indented(source: Source, rows: Sequence[str], row: int, wanted: int) -> Iterator[Edit]:
    """Yield the edits that indent a row and those after it that belong to the same text."""
    for at in range(row, min(len(rows), row + MOST_ROWS)):
        if _KEY_ROW.match(rows[at]):
            return
        if rows[at].strip() and _inset(rows[at]) < wanted:
            yield Edit(Spot(source.file, at + 1, 1, 0), " " * (wanted - _inset(rows[at])))


def _inset(row: str) -> int:
    return len(row) - len(row.lstrip(" "))
