"""Line texts that YAML cannot take as they stand, and the same text written so that it can.

``sargam: - G m`` starts a list, ``{R}S`` a mapping, ``!andolan!g`` a tag, ``[S R]x2`` a list with
something after it. The reader quotes such a value in memory, reports it and reads on, so that the
other mistakes of the file are found in the same run.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

import yaml

_KEY_LINE = re.compile(r"^(?P<lead>(?:[ ]*(?:- )?[ ]*)(?P<key>[\w-]+):[ \t]+)(?P<value>\S.*?)[ ]*$")
MOST_SHOWN = 300
"""Characters of a mended text that the finding shows."""
_STARTS = "-{[!|#*&%@>`"


@dataclass(frozen=True, slots=True)
class Mended:
    """The whole text with one value quoted; ``shown`` is the mended text for the finding."""

    text: str
    row: int
    column: int
    width: int
    why: str
    shown: str


def mend(text: str, row: int, context: yaml.Mark | None) -> Mended | None:
    """Quote the value at fault on or just above a 0-based row, or return None.

    Only values that begin with a character YAML keeps for itself, or hold ``: ``, are touched.
    """
    lines = text.split("\n")
    rows = [row, row - 1]
    if context is not None:
        rows.insert(1, context.line)
    for at in rows:
        if not 0 <= at < len(lines):
            continue
        match = _KEY_LINE.match(lines[at])
        if not match:
            continue
        value = match["value"]
        why = _why(value)
        if why is None:
            continue
        quoted = "'" + value.replace("'", "''") + "'"
        lines[at] = match["lead"] + quoted
        indent = " " * (len(match["lead"]) - len(match["lead"].lstrip()) + 2)
        return Mended(
            "\n".join(lines),
            at,
            len(match["lead"]),
            len(value),
            why,
            f"{match['key']}: |\n{indent}{value[:MOST_SHOWN]}",
        )
    return None


def _why(value: str) -> str | None:
    if value[0] in "'\"":
        return None
    if value[0] in _STARTS and not re.fullmatch(r"[|>][+-]?\d?[+-]?", value):
        return f"starts with '{value[0]}'"
    if ": " in value or value.endswith(":"):
        return "holds ': '"
    return None
