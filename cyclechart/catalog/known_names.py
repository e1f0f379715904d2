"""The name by which the catalogue or a band has what somebody asked for in another spelling."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cyclechart.catalog.library import Shelf
from cyclechart.catalog.names_by_sound import without_kind


def known_name(shelves: Sequence[Shelf[Any]], asked: str) -> str:
    """Return the name of a mode or cycle on some shelves; as it was asked for where it has none of
    its own there (a mela, a suladi tala, a cycle in a gati)."""
    asked = " ".join(asked.split())
    for name in dict.fromkeys((asked, without_kind(asked))):
        for shelf in shelves:
            found = name if name in shelf.definitions else shelf.alias(name)
            if found:
                return found
        for shelf in shelves:
            if found := shelf.by_sound(name):
                return found
    return asked
