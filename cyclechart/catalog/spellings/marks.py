"""The signs beside a tone that spellings share: of its octave, and of its lower or raised form."""

from __future__ import annotations

import re

from cyclechart.catalog.spellings.model import Form
from cyclechart.text.typographic_signs import UP_MARKS

ABOVE, TWO_ABOVE = "\u0307", "\u0308"
BELOW, TWO_BELOW = "\u0323", "\u0324"
LOWER_LINES = "\u0331\u0332\u0320\u0333\u0952"
"""Lines under a letter (macron, low line, minus, double low line; the anudatta of Indic fonts)."""
RAISED_LINES = "\u030d\u030e\u0305\u0304\u0301\u0951"
"""Lines over a letter (vertical, double, overline, macron, acute; the udatta)."""
COMBINING = f"[\u0300-\u036f{LOWER_LINES}{RAISED_LINES}]"
_OCTAVES = {ABOVE: 1, TWO_ABOVE: 2, BELOW: -1, TWO_BELOW: -2}
_UP = f"'{UP_MARKS}"
_TWO_UP = '"\u201c\u201d\u2033'
AFTER = rf"(?P<marks>[{_UP}]{{1,3}}|[{_TWO_UP}]|[,\u201a]{{1,3}}|\.(?![\w.]))?"
"""Octave marks after a tone; a point is one where no letter follows."""
BEFORE = r"(?P<before>(?<![\w.])\.(?=\w))?"
"""A point before a tone, for the octave below."""

WORD_FORMS: dict[str, Form] = {
    "komal": "lower", "komala": "lower", "k": "lower", "tivra": "raised", "teevra": "raised",
    "tivr": "raised", "t": "raised", "shuddha": "natural", "shuddh": "natural",
    "suddha": "natural", "shudh": "natural", "sh": "natural",
}  # fmt: skip
"""The words for the forms of a tone, which stand before or after its name."""
_FULL = "komala?|tivra?|teevra|shuddha?|suddha|shudh"
WORD_BEFORE = rf"(?:(?P<word>{_FULL})[ .\-]{{1,3}}|\((?P<short>k|t|sh|{_FULL})\) ?)?"
WORD_AFTER = rf"(?: ?\((?P<later>k|t|sh|{_FULL})\))?"
SIGN = r"(?P<sign>[♭♯#]|b(?![a-z]))?"


def signs_on(marks: str, *, can_rise: bool) -> tuple[int, Form | None] | None:
    """Return the octave and the form that combining marks on a letter say; None for marks that
    mean nothing here."""
    octave, form = 0, None
    for mark in marks:
        if mark in _OCTAVES:
            octave += _OCTAVES[mark]
        elif mark in LOWER_LINES:
            form = "lower"
        elif mark in RAISED_LINES and can_rise:
            form = "raised"
        elif mark != "\u0304":  # a macron on a vowel: only its length
            return None
    return octave, form  # type: ignore[return-value]


def octave_of(match: re.Match[str]) -> int:
    """Return the octave that the marks before and after a tone say."""
    marks = match["marks"] or ""
    below = -1 if match["before"] else 0
    if marks[:1] in (",", "\u201a"):
        return below - len(marks) if marks else below
    if marks == ".":
        return below + 1
    return below + (2 if marks and marks in _TWO_UP else len(marks))


def form_of_words(match: re.Match[str]) -> Form | None:
    """Return the form that a word or a sign beside a tone says, or None."""
    said = match["word"] or match["short"] or match["later"]
    if said:
        return WORD_FORMS[said.lower()]
    sign = match["sign"]
    if sign:
        return "lower" if sign in "b♭" else "raised"
    return None


def is_tick(match: re.Match[str]) -> bool:
    """Return whether just one ' follows a tone, which may be the sign of the raised fourth."""
    marks = match["marks"] or ""
    return len(marks) == 1 and marks in _UP
