"""The spelling that a text is in, and the text as our sargam."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from cyclechart.catalog.spellings import indian_scripts
from cyclechart.catalog.spellings.latin import MARKED, NAMES, SIXTEEN, SMALL
from cyclechart.catalog.spellings.model import NOTHING, Known, Reading, Respelled, Spelling
from cyclechart.catalog.spellings.walk import TakenApart, taken_apart
from cyclechart.catalog.spellings.western import LETTERS, NUMBERS, SOLFA, SYLLABLES
from cyclechart.theory.tones import show_pitch

LONGEST = 10_000
"""Characters of a text that is looked at: a line has far fewer."""
_MOST_OCTAVES = 3
_MOST_UNREAD = 8
_LEAST_READ = 4
"""The fewest tones of a text in which a cell may stay unread, and the tones for each such cell."""


@lru_cache(maxsize=1)
def all_spellings() -> tuple[Spelling, ...]:
    """Return every spelling, in the order in which they are tried."""
    return (
        NAMES, SIXTEEN, *indian_scripts.spellings(), MARKED, SMALL, SYLLABLES, NUMBERS, LETTERS,
        SOLFA,
    )  # fmt: skip


def respelled(
    text: str,
    known: Known = NOTHING,
    spellings: Sequence[Spelling] | None = None,
    *,
    longest: int = LONGEST,
) -> Respelled | None:
    """Return a text that is in another spelling as our sargam; None where it is in none.

    A text of which every cell can be read comes first; then one with a few that cannot.
    """
    if len(text) > longest:
        return None
    tried = all_spellings() if spellings is None else spellings
    distinct = [spelling for spelling in tried if spelling.distinct]
    for most_unread, among in ((0, tried), (_allowed(text), distinct)):
        for spelling in among:
            found = _read(text, spelling, known, most_unread)
            if found is not None:
                return found
    return None


def _allowed(text: str) -> int:
    return min(_MOST_UNREAD, max(1, len(text.split()) // (_LEAST_READ + 1)))


def _read(text: str, spelling: Spelling, known: Known, most_unread: int) -> Respelled | None:
    apart = taken_apart(text, spelling, most_unread=most_unread)
    if apart is None:
        return None
    tones = apart.tones
    if not tones or not spelling.proves(tones):
        return None
    if apart.unread and len(tones) < _LEAST_READ * len(apart.unread):
        return None
    found = [
        _written(spelling, apart, reading)
        for reading in spelling.resolve(tones, known)
        if all(abs(pitch // 12) <= _MOST_OCTAVES for pitch in reading.pitches)
    ]
    return found[0]._replace(others=tuple(found[1:])) if found else None


def _written(spelling: Spelling, apart: TakenApart, reading: Reading) -> Respelled:
    pitches = iter(reading.pitches)
    pieces = tuple(
        piece if piece.tone is None else piece._replace(text=show_pitch(next(pitches)))
        for piece in apart.pieces
    )
    new = "".join(piece.text for piece in pieces)
    return Respelled(spelling, pieces, new, reading.reasons, apart.unread)
