"""The shape of a set list, and of its entries."""

from __future__ import annotations

from cyclechart.text.shapes import (
    ANYTHING,
    NUMBER,
    TEXT,
    Anything,
    Shape,
    optional,
    reference,
    required,
)

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
    players = optional(ANYTHING)
    length = optional(NUMBER)
    retune = optional(NUMBER)
    pieces = required(_ENTRIES, "pieces:\n  - ferry-at-first-light.yaml")
