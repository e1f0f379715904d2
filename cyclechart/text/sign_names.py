"""The names of signs, for messages about one that looks like another on the screen."""

from __future__ import annotations

import unicodedata

NAMES = {
    **dict.fromkeys("\u2018\u2019\u201b", "a typographic apostrophe"),
    **dict.fromkeys("\u201c\u201d\u201e\u201f", "a typographic quotation mark"),
    "\u2032": "a prime", "\u2033": "a double prime", "\u2013": "an en dash", "\u2014": "an em dash",
    "\u2212": "a minus sign", "\u00a0": "a no-break space", "\u2026": "an ellipsis",
}  # fmt: skip


def named(sign: str) -> str:
    """Return a sign in quotes; one that is easily taken for another also by code and name."""
    if sign.isascii():
        return f"'{sign}'"
    known = NAMES.get(sign) or unicodedata.name(sign, "a sign without a name").lower()
    shown = sign if sign.isprintable() and not unicodedata.combining(sign) else " " + sign
    return f"'{shown}' (U+{ord(sign):04X}, {known})"
