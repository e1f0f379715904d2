"""Rows that are not indented as YAML needs it: what is wrong, and the edits."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import yaml

from cyclechart.finding import Edit, Spot, Suggestion
from cyclechart.text.edits import with_edits
from cyclechart.text.excerpts import clip
from cyclechart.text.source import Source
from cyclechart.text.yaml_repair import COMPOSER

_BLOCK_HEAD = re.compile(r"(?P<lead> *(?:- +)*)(?P<key>[\w-]+): *[|>][+-]? *(?:#.*)?$")
_KEY_ROW = re.compile(r" *(?:- +)*[\w-]+:(?: |$)")
_KEY = re.compile(r"(?P<lead> *(?:- +)*)(?P<key>[\w-]+):(?: |$)")
MOST_ROWS = 500
MOST_TRIED = 100_000
"""Characters of a file in which other indentations are tried out."""
TAB_STOPS = (4, 2, 8)


class BadIndentation(NamedTuple):
    """A row (from 0) that is indented wrongly, a sentence, and what to try."""

    row: int
    message: str
    suggestion: Suggestion


def bad_indentation(source: Source, row: int) -> BadIndentation | None:
    """Return what is wrong where a row (from 0) that YAML stumbles over, or the one before it, is
    indented by tabs, belongs to a text in a block above, or is a key that stands under no other;
    None where it is indented well."""
    rows = source.text.split("\n")
    for find in (_tabs, _row_of_block, _key_astray):
        for at in (row, row - 1):
            if 0 <= at < len(rows):
                found = find(source, rows, at)
                if found is not None:
                    return found
    return None


def _tabs(source: Source, rows: Sequence[str], row: int) -> BadIndentation | None:
    """Return what is wrong with a row that a tab indents: in all of the file, for all at once."""
    if "\t" not in _white(rows[row]):
        return None
    message = "this row is indented with a tab; YAML takes spaces only"
    for stops in TAB_STOPS:
        edits = tuple(
            Edit(Spot(source.file, at + 1, 1, len(_white(text))), _white(text).expandtabs(stops))
            for at, text in enumerate(rows)
            if "\t" in _white(text)
        )
        if _reads(source, edits, row):
            return BadIndentation(row, message, Suggestion("spaces in place of each tab", edits))
    return BadIndentation(row, message, Suggestion("indent with spaces, not tabs"))


def _key_astray(source: Source, rows: Sequence[str], row: int) -> BadIndentation | None:
    """Return what is wrong with a key that stands under none of the keys that it can belong to."""
    key = _KEY.match(rows[row])
    above = _columns_above(rows, row)
    if key is None or not above:
        return None
    column = len(key["lead"])
    if column in above:
        return None
    nearest = sorted(above, key=lambda one: (abs(one - column), -one))
    for wanted in nearest:
        edits = tuple(_moved(source, rows, row, wanted - column))
        if _reads(source, edits, row):
            word = "space" if column == 1 else "spaces"
            return BadIndentation(
                row,
                f"'{clip(key['key'])}' is indented by {column} {word} and stands under no other "
                "key: keys that belong together begin in the same column",
                Suggestion(f"{wanted or 'no'} spaces before it: {clip(rows[row].strip())}", edits),
            )
    return None


def _columns_above(rows: Sequence[str], row: int) -> list[int]:
    """Return the columns of the keys that the key in a row can stand under."""
    columns: list[int] = []
    for at in range(row - 1, max(-1, row - MOST_ROWS), -1):
        key = _KEY.match(rows[at])
        if key is not None and (not columns or len(key["lead"]) < columns[-1]):
            columns.append(len(key["lead"]))
            if not columns[-1]:
                break
    return columns


def _moved(source: Source, rows: Sequence[str], row: int, by: int) -> Iterator[Edit]:
    """Yield the edits that move a row and those beneath it to the right, or to the left."""
    inset = _inset(rows[row])
    for at in range(row, min(len(rows), row + MOST_ROWS)):
        if rows[at].strip() and _inset(rows[at]) < inset:
            return
        if at > row and _inset(rows[at]) == inset and not _KEY.match(rows[at]):
            return
        if rows[at].strip():
            width = max(0, -by)
            yield Edit(Spot(source.file, at + 1, 1, width), " " * max(0, by))


def _reads(source: Source, edits: Sequence[Edit], row: int) -> bool:
    """Return whether YAML can read a file with some edits, up to a row and further."""
    if len(source.text) > MOST_TRIED or not edits:
        return False
    loader = COMPOSER(with_edits(source, edits))
    try:
        loader.get_single_node()
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        return mark is not None and mark.line > row
    except (yaml.YAMLError, RecursionError):
        return False
    finally:
        loader.dispose()
    return True


def _white(row: str) -> str:
    return row[: len(row) - len(row.lstrip(" \t"))]


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
