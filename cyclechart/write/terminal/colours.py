"""Colours of text on a terminal, where there is one that shows them.

The environment's NO_COLOR, set to anything, turns them off (the custom of no-color.org), as does
a terminal named ``dumb``. Colour only repeats what the words say.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import TextIO

Painter = Callable[[str, str], str]
"""Takes a role (``error``, ``try`` …) and a text; returns the text in the colour of the role."""

_CODES = {
    "error": "1;31",
    "warning": "1;33",
    "advice": "1;36",
    "liberty": "1;32",
    "place": "1",
    "faint": "2",
    "added": "32",
    "removed": "31",
}


def painter_for(stream: TextIO) -> Painter:
    """Return the painter of a stream: colours on a terminal, plain text elsewhere."""
    return in_colour if shows_colours(stream) else plain


def shows_colours(stream: TextIO) -> bool:
    """Return whether a stream is a terminal on which colours are wanted."""
    wanted = not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"
    return wanted and stream.isatty()


def plain(_role: str, text: str) -> str:
    """Return a text as it is."""
    return text


def in_colour(role: str, text: str) -> str:
    """Return a text in the colour of its role, by the codes of ECMA-48 (SGR)."""
    return f"\x1b[{_CODES[role]}m{text}\x1b[0m" if text else text
