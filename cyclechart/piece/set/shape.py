"""The shape of a set list, and of its entries."""

from __future__ import annotations

import re

from cyclechart.text.excerpts import clip
from cyclechart.text.shapes import (
    ANYTHING,
    NUMBER,
    TEXT,
    Anything,
    OneValue,
    Shape,
    optional,
    reference,
    required,
)


def _time_of_day(written: str) -> int:
    """Return the minutes after midnight of a time of day."""
    match = _TIME.fullmatch(written.strip())
    if match is not None:
        hour, minute, half = int(match[1]), int(match[2] or 0), (match[3] or "").lower()
        if half and 1 <= hour <= 12:
            hour = hour % 12 + (12 if half == "p" else 0)
        elif half or match[2] is None:
            hour = 24
        if hour < 24 and minute < 60:
            return hour * 60 + minute
    # Some editors make of 20:30 what it is in YAML 1.1: a number to the base of 60.
    number = int(written) if re.fullmatch(r"\d{1,4}", written.strip()) else 24 * 60
    tried = f"{number // 60}:{number % 60:02}" if 60 <= number < 24 * 60 else "20:30"
    raise ValueError(f"'{clip(written)}' is not a time of day; write starts: \"{tried}\"")


_TIME = re.compile(r"(\d{1,2})(?:[:.](\d{2}))?\s*(?:([ap])\.?m\.?)?", re.IGNORECASE)
TIME_OF_DAY = OneValue("a time of day", _time_of_day, ("string", "number"))
"""A time of day, as minutes after midnight: ``20:30`` or ``8:30 pm``."""
_NAMES = Anything({"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]})


class TuneShape(Shape):
    """A piece of the set with what is said of it for this gig."""

    where = "a piece of the set"
    piece = required(TEXT, "piece: ferry-at-first-light.yaml")
    tonic = optional(TEXT)
    minutes = optional(NUMBER)
    note = optional(TEXT)
    without = optional(_NAMES)


class BreakShape(Shape):
    """So many minutes without music."""

    where = "a break"
    break_ = required(NUMBER)
    note = optional(TEXT)


_ENTRY = {"anyOf": [{"type": "string"}, reference(TuneShape), reference(BreakShape)]}
_ENTRIES = Anything({"type": "array", "items": _ENTRY})


class SetlistShape(Shape):
    """A whole set list. Its entries are fitted to their own shapes where they are read."""

    where = "a set list"
    title = required(TEXT, "title: Regatta Night")
    date = optional(TEXT)
    venue = optional(TEXT)
    version = optional(TEXT, "")
    starts = optional(TIME_OF_DAY)
    players = optional(ANYTHING)
    length = optional(NUMBER)
    retune = optional(NUMBER)
    pieces = required(_ENTRIES, "pieces:\n  - ferry-at-first-light.yaml")
