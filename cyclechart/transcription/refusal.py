"""Why a file cannot be brought, in one plain sentence."""

from __future__ import annotations


class CannotRead(Exception):
    """The file cannot be read; ``place`` is where in it ("line 4"), ``tries`` what could help."""

    def __init__(self, what: str, place: str = "", *tries: str) -> None:
        super().__init__(what)
        self.what, self.place, self.tries = what, place, tries


MOST_BYTES = 16_000_000
"""The largest file, also when it is unpacked: an opera has less."""
MOST_NOTES = 20_000
"""The most notes of one voice; a line of a piece has fewer than 50,000 cells."""
LONGEST = 20_000
"""The most units of a tune."""
