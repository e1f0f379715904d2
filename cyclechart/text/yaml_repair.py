"""Line texts that YAML cannot take as they stand, and the same text written so that it can.

``sargam: - G m`` starts a list, ``{R}S`` a mapping, ``!andolan!g`` a tag, ``[S R]x2`` a list with
something after it. The reader quotes such a value in memory, reports it and reads on, so that the
other mistakes of the file are found in the same run.
"""

from __future__ import annotations

import re
from typing import NamedTuple

import yaml

_KEY_LINE = re.compile(r"^(?P<lead>(?:[ ]*(?:- )?[ ]*)(?P<key>[\w-]+):[ \t]+)(?P<value>\S.*?)[ ]*$")
_KEYS_IN_BRACES = re.compile(r"\{\s*[\w-]+:\s")
_PAIR = re.compile(
    r"(?P<lead>[{,]\s*(?P<key>[\w-]+):[ ]+)(?P<value>\S.*?)"
    r"(?=\s*,\s*[\w-]+:\s|\s*\}\s*(?:#.*)?$)"
)
MOST_SHOWN = 300
"""Characters of a mended text that the finding shows."""
_STARTS = "-{[!|#*&%@>`"
COMPOSER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
"""The YAML library's composer, the one in C where it is there."""


class Repaired(NamedTuple):
    """The whole text with one value quoted; ``shown`` is what the finding says to write.

    ``row``, ``column`` and ``width`` are the value's first row in the text before, ``put_in`` the
    columns of the characters put in, by row of the text after. ``last_row`` is the value's last,
    and ``written`` what can stand in its place in the file. All count from 0.
    """

    text: str
    row: int
    column: int
    width: int
    why: str
    shown: str
    last_row: int
    written: str
    put_in: dict[int, tuple[int, ...]]

    def added_to(self, earlier: dict[int, tuple[int, ...]]) -> dict[int, tuple[int, ...]]:
        """The columns of all characters put in so far, where they stand now."""
        rows = self.text.split("\n")
        merged = dict(earlier)
        for row, columns in self.put_in.items():
            added = set(columns)
            old = [column for column in range(len(rows[row])) if column not in added]
            moved = {old[column] for column in earlier.get(row, ())}
            merged[row] = tuple(sorted(added | moved))
        return merged


def mend(text: str, row: int, context: yaml.Mark | None) -> Repaired | None:
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
        if value[0] == "*" and at == row - 1:  # an alias above the fault is one that YAML took
            continue
        if _KEYS_IN_BRACES.match(value):
            mended = _in_braces(lines, at, len(match["lead"]))
        else:
            mended = _whole_value(lines, at, match)
        if mended is not None:
            return mended
    return None


def _whole_value(lines: list[str], at: int, match: re.Match[str]) -> Repaired | None:
    """The value of a key, with the rows below that go on with it, in quotes."""
    value, lead = match["value"], match["lead"]
    last = at + _rows_after(lines, at, lead)
    written = [value, *(line.rstrip() for line in lines[at + 1 : last + 1])]
    why = _why("\n".join(written))
    if why is None:
        return None
    rows, put_in = list(lines), {}
    for number, part in enumerate(written):
        column = len(lead) if not number else 0
        quoted, columns = _quote(part, column, first=not number, last=at + number == last)
        rows[at + number] = lead * (not number) + quoted
        if columns:
            put_in[at + number] = columns
    indent = " " * (len(lead) - len(lead.lstrip()) + 2)
    shown = "".join(f"\n{indent}{part.strip()[:MOST_SHOWN]}" for part in written[:8])
    inset = " " * (match.start("key") + 2)
    below = "".join(f"\n{inset}{part.strip()}" for part in written)
    return Repaired(
        text="\n".join(rows),
        row=at,
        column=len(lead),
        width=len(value),
        why=why,
        shown=f"{match['key']}: |{shown}",
        last_row=last,
        written=f"|{below}",
        put_in=put_in,
    )


def _rows_after(lines: list[str], at: int, lead: str) -> int:
    """Return the number of rows below a plain value that go on with it: indented beyond its key."""
    inset = len(re.match(r"[ ]*(?:- )?[ ]*", lead)[0])  # type: ignore[index]
    count = 0
    for line in lines[at + 1 :]:
        bare = line.lstrip(" ")
        if not bare or bare[0] == "#" or len(line) - len(bare) <= inset:
            break
        if re.match(r"[\w-]+:(?:\s|$)", bare):
            break
        count += 1
    return count


def _in_braces(lines: list[str], at: int, start: int) -> Repaired | None:
    """The one value at fault of a mapping in braces on one row, in quotes."""
    for pair in _PAIR.finditer(lines[at], start):
        value = pair["value"]
        why = _why(value)
        if why is None:
            continue
        column = pair.start("value")
        quoted, columns = _quote(value, column, first=True, last=True)
        rows = list(lines)
        rows[at] = lines[at][:column] + quoted + lines[at][pair.end("value") :]
        shown = f"{pair['key']}: {quoted}" if len(quoted) <= MOST_SHOWN else "quote this text"
        return Repaired(
            text="\n".join(rows),
            row=at,
            column=column,
            width=len(value),
            why=why,
            shown=shown,
            last_row=at,
            written=quoted,
            put_in={at: columns},
        )
    return None


def _quote(part: str, column: int, first: bool, last: bool) -> tuple[str, tuple[int, ...]]:
    """One row of a text to stand in single quotes, and the columns of what was put in."""
    made = "'" if first else ""
    columns = [column] if first else []
    for letter in part:
        made += letter
        if letter == "'":
            columns.append(column + len(made))
            made += "'"
    if last:
        columns.append(column + len(made))
        made += "'"
    return made, tuple(columns)


def _why(value: str) -> str | None:
    """Return the reason why YAML cannot read a value as text, or None where it can."""
    if value[0] in "'\"":
        return None
    if value[0] in _STARTS and not re.fullmatch(r"[|>][+-]?\d?[+-]?", value.split("\n")[0]):
        if value[0] == "-":
            return "starts with '-'" if value[1:2] in ("", " ") else None
        return None if value[0] != "*" and _sound(value) else f"starts with '{value[0]}'"
    if ": " in value or value.endswith(":"):
        return "contains ': '"
    return None


def _sound(value: str) -> bool:
    """Return whether YAML can take a value that stands alone."""
    if value.count("[") + value.count("{") > 100:
        return False
    loader = COMPOSER(value)
    try:
        loader.get_single_node()
    except yaml.YAMLError:
        return False
    finally:
        loader.dispose()
    return True
