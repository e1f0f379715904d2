"""Tuplet numbers that the engraver sets inside the staff are taken above it."""

from __future__ import annotations

import re

STAFF_HEIGHT = 720
"""Of five lines, in the units of a picture's drawing."""

CLEAR = 40
"""How far above the top line a number's foot stands."""

_STAFF = re.compile(
    r'class="staff"[^>]*>\s*<path d="M-?\d+ (?P<top>\d+) '
    r'|class="tupletNum">\s*<use xlink:href="[^"]*" transform="translate\((?P<x>\d+), (?P<y>\d+)\)'
)


def cleared(svg: str) -> str:
    """The picture of a system with no tuplet number on the lines of its staff.

    One beside its bracket stands where that does, which the engraver keeps off the staff.
    """
    parts: list[str] = []
    done = top = 0
    for match in _STAFF.finditer(svg):
        if match["top"]:
            top = int(match["top"])
            continue
        foot = int(match["y"])
        if top - CLEAR // 2 < foot < top + STAFF_HEIGHT:
            parts += [svg[done : match.start("y")], str(top - CLEAR)]
            done = match.end("y")
    return "".join([*parts, svg[done:]])
