"""Where the cursor stands in the text of a piece: under which keys, and what is being written.

It is found from the rows above alone, by their indentation, so that it is known in a text that YAML
cannot read yet.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

ITEM = "-"
"""The place of a list's item in a path."""

_ROW = re.compile(
    r"(?P<indent>[ ]*)(?P<dashes>(?:-(?:[ ]+|$))*)"
    r"(?:(?P<key>'[^']*'|\"[^\"]*\"|[^\s:#,'\"\[\]{}][^:#,\[\]{}]*?)[ ]*:(?=\s|$)(?P<value>.*))?"
)
_BLOCK = re.compile(r"\s*(?:[&!]\S+\s+)*[|>][-+0-9]*\s*(?:#.*)?$")
_WORD = re.compile(r"[^\s,:\[\]{}()|'\"]*$")


class Level(NamedTuple):
    """A key, or a list's item, that rows below stand under."""

    indent: int
    name: str
    is_block: bool = False


class Cursor(NamedTuple):
    """The keys that the cursor stands under, the last of them the one whose value is written, if
    any; ``writes`` says what it is: a key, a value, or a row of a text in a block. ``word`` is what
    stands before it of that."""

    path: tuple[str, ...]
    writes: str
    word: str
    before: str
    """All that stands before it of the value, or of the row."""


class NamedRow(NamedTuple):
    """A key that begins a row: the keys that it stands under, with it, and where it stands."""

    path: tuple[str, ...]
    row: int
    column: int


def cursor_at(rows: Sequence[str], row: int, column: int) -> Cursor:
    """Return where the cursor stands."""
    before = (rows[row] if row < len(rows) else "")[:column]
    levels: list[Level] = []
    for above in rows[:row]:
        _go_on(levels, above)
    indent = len(before) - len(before.lstrip(" "))
    if before.strip() and levels and levels[-1].is_block and indent > levels[-1].indent:
        return Cursor(_path(levels), "text", _word(before), before.lstrip())
    if not before.strip() and levels and levels[-1].is_block and column > levels[-1].indent:
        return Cursor(_path(levels), "text", "", "")
    match = _ROW.match(before)
    assert match is not None  # an empty row matches too
    lead = match["indent"] + match["dashes"]
    _close(levels, len(match["indent"]), dash=bool(match["dashes"]))
    _open_items(levels, match)
    if match["key"] is None:
        return _in_flow(_path(levels), before[len(lead) :], "key")
    levels.append(Level(len(lead), _bare(match["key"])))
    return _in_flow(_path(levels), match["value"].lstrip(), "value")


def named_rows(rows: Sequence[str]) -> Iterator[NamedRow]:
    """Yield every key that begins a row, with the keys that it stands under."""
    levels: list[Level] = []
    for number, row in enumerate(rows):
        if _go_on(levels, row):
            yield NamedRow(_path(levels), number, levels[-1].indent)


def names_under(rows: Sequence[str], key: str) -> list[str]:
    """Return the keys that stand in rows of their own under a key of the piece."""
    found = (one.path[1] for one in named_rows(rows) if len(one.path) == 2 and one.path[0] == key)
    return list(dict.fromkeys(found))


def _go_on(levels: list[Level], row: str) -> bool:
    """Take a row into the levels; return whether it begins with a key."""
    bare = row.strip()
    if not bare or bare[0] == "#":
        return False
    match = _ROW.match(row)
    assert match is not None  # an empty row matches too
    indent = len(match["indent"])
    if levels and levels[-1].is_block and indent > levels[-1].indent:
        return False
    _close(levels, indent, dash=bool(match["dashes"]))
    _open_items(levels, match)
    if match["key"] is None:
        return False
    column = indent + len(match["dashes"])
    levels.append(Level(column, _bare(match["key"]), bool(_BLOCK.match(match["value"]))))
    return True


def _close(levels: list[Level], indent: int, *, dash: bool) -> None:
    """Leave the levels that a row with an indent is not under; a list may stand at its key."""
    while levels and levels[-1].indent >= indent:
        if dash and levels[-1].indent == indent and levels[-1].name != ITEM:
            break
        levels.pop()


def _open_items(levels: list[Level], match: re.Match[str]) -> None:
    indent = len(match["indent"])
    for dash in re.finditer("-", match["dashes"]):
        levels.append(Level(indent + dash.start(), ITEM))


def _in_flow(path: tuple[str, ...], text: str, writes: str) -> Cursor:
    """Return the cursor at the end of a value that may hold lists and mappings in brackets."""
    above: list[tuple[tuple[str, ...], str]] = []
    start = at = 0
    here = path
    while at < len(text):
        sign = text[at]
        if sign in "'\"":
            close = text.find(sign, at + 1)
            if close < 0:
                return Cursor(here, writes, _word(text), text[at + 1 :])
            at = close + 1
            continue
        if sign in "{[" and (not text[start:at].strip()):
            above.append((here, sign))
            here, writes = (here, "key") if sign == "{" else ((*here, ITEM), "value")
            start = at + 1
        elif sign in "}]" and above:
            here, writes = above.pop()[0], "value"
            start = at + 1
        elif sign == "," and above:
            here = above[-1][0] if above[-1][1] == "{" else (*above[-1][0], ITEM)
            writes = "key" if above[-1][1] == "{" else "value"
            start = at + 1
        elif sign == ":" and text[at + 1 : at + 2] in (" ", "") and above:
            here, writes = (*here, _bare(text[start:at])), "value"
            start = at + 1
        at += 1
    return Cursor(here, writes, _word(text), text[start:].lstrip())


def _path(levels: Sequence[Level]) -> tuple[str, ...]:
    return tuple(level.name for level in levels)


def _bare(key: str) -> str:
    """Return a key without its quotes."""
    return key.strip().strip("'\"")


def _word(before: str) -> str:
    """Return the part of a word that stands before the cursor."""
    match = _WORD.search(before)
    return match[0] if match else ""
