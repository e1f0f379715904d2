"""The difference between two texts of a file, as a unified diff."""

from __future__ import annotations

import difflib
from collections.abc import Iterator

from cyclechart.text.source import with_plain_ends
from cyclechart.write.terminal.colours import Painter, plain

_ROLES = {"-": "removed", "+": "added", "@": "advice"}


def as_text(file: str, before: bytes, after: bytes, paint: Painter = plain) -> str:
    """Return the unified diff of a file's bytes in UTF-8; "" where they are the same."""
    old, new = _rows(before), _rows(after)
    rows = difflib.unified_diff(old, new, file, file, lineterm="")
    return "".join(f"{row}\n" for row in _painted(rows, paint))


def _rows(data: bytes) -> list[str]:
    """Return the rows of a text without their ends; what a terminal would obey is made visible."""
    text = with_plain_ends(data.decode("utf-8-sig", "replace"))
    rows = text.split("\n")
    return [_visible(row) for row in (rows[:-1] if not rows[-1] else rows)]


def _visible(row: str) -> str:
    return "".join(one if one.isprintable() or one == "\t" else "�" for one in row)


def _painted(rows: Iterator[str], paint: Painter) -> Iterator[str]:
    for number, row in enumerate(rows):
        role = "place" if number < 2 else _ROLES.get(row[:1])
        yield paint(role, row) if role else row
