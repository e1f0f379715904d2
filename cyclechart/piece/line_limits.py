"""The limits of all lines of a piece together: beyond them is a slip or an attack."""

from __future__ import annotations

from cyclechart.finding import Finding, Spot
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping

MAX_LINES = 400
MOST_DEEP = 40
"""Lines that are each built for the one before."""
MAX_NOTES = 100_000
"""The most notes in all lines of a piece."""
MAX_DERIVED_NOTES = 20_000
"""The most notes in all lines that come from others: a short file can ask for very many."""
MOST_STEPS_OF_ALL = 200_000
"""Candidates for cadences in all lines of a piece together: under a second."""


def wrong_count(lines: Mapping) -> Finding | None:
    """Return the finding on a piece without lines, or with too many."""
    count = len(lines.pairs)
    if not count:
        tries = ["head:\n  sargam: S R G m"]
        return reading_rules.wrong_value(lines.spot, "the piece has no lines", tries)
    if count > MAX_LINES:
        message = f"a piece has at most {MAX_LINES} lines, not {count}"
        return reading_rules.too_long(lines.spot, message)
    return None


def too_many_notes(spot: Spot, notes: int) -> Finding | None:
    """Return the finding on the line with which the notes become too many; None before it."""
    if notes <= MAX_NOTES:
        return None
    what = f"the lines up to here have {notes:,} notes; a piece has at most {MAX_NOTES:,}"
    return reading_rules.too_long(spot, what)


def too_many_derived(spot: Spot, notes: int) -> Finding | None:
    """Return the finding on the line with which the notes that come from other lines become too
    many; None before it."""
    if notes <= MAX_DERIVED_NOTES:
        return None
    what = (
        f"the lines from lines up to here have {notes:,} notes; a piece has at most "
        f"{MAX_DERIVED_NOTES:,} of them"
    )
    return reading_rules.too_long(spot, what)


def too_deep(spot: Spot, name: str) -> Finding:
    """The finding on a line that is built for too many others."""
    what = f"lines come from lines at most {MOST_DEEP} deep, '{clip(name)}' from more"
    return reading_rules.too_long(spot, what)
