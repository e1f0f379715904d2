"""The known names nearest to an unknown one, for suggestions in messages."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

LONGEST = 60
"""The most letters of a name that are compared: comparing long texts takes long."""
LEAST_LIKE = 0.55
"""The least likeness of a name that is offered; 1 is the same name."""


def nearest_names(
    name: str, known: Iterable[str], count: int = 3, *, cutoff: float = LEAST_LIKE
) -> list[str]:
    """Return the known names most like a given one, best first; possibly none."""
    by_folded: dict[str, str] = {}
    for candidate in known:
        by_folded.setdefault(candidate.lower(), candidate)
    folded = name.lower()[:LONGEST]
    close = difflib.get_close_matches(folded, by_folded, n=count, cutoff=cutoff)
    return [by_folded[match] for match in close]
