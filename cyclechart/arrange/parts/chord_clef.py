"""The clef of a part of chords: the one of fewer ledger lines."""

from __future__ import annotations

from collections.abc import Iterable

from cyclechart.catalog.instruments import Clef

WITHIN_TWO: dict[Clef, tuple[int, int]] = {"treble": (55, 86), "bass": (35, 65)}
"""The MIDI keys, as they are written, that need at most two ledger lines in a clef: G3 to D6 in the
treble clef, B1 to F4 in the bass clef."""


def clef_of(keys: Iterable[int]) -> Clef:
    """Return the clef in which fewer of the written keys need more than two ledger lines; the
    treble clef where both are as good."""
    written = list(keys)

    def beyond(clef: Clef) -> int:
        low, high = WITHIN_TWO[clef]
        return sum(not low <= key <= high for key in written)

    return "bass" if beyond("bass") < beyond("treble") else "treble"
