"""The name by which the catalogue or a band has what somebody asked for in another spelling."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cyclechart.catalog.library import Shelf


def known_name(shelves: Sequence[Shelf[Any]], asked: str) -> str:
    """Return the name of a mode or cycle on some shelves; as it was asked for where it has none of
    its own there (a mela, a suladi tala, a cycle in a gati)."""
    asked = " ".join(asked.split())
    for shelf in shelves:
        found = asked if asked in shelf.definitions else shelf.alias(asked)
        if found:
            return found
    return next((found for shelf in shelves if (found := shelf.by_sound(asked))), asked)
