"""The music of texts that were read before.

An editor reads a piece again with each change, and most of its texts are as they were, or stand a
few rows further down.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import fields, replace
from operator import attrgetter
from typing import NamedTuple

from cyclechart.finding import Spot
from cyclechart.piece.note import Note, Phrase
from cyclechart.text.nodes import Scalar
from cyclechart.text.source import PlacedText
from cyclechart.theory.spelling import Tonic

MOST_NOTES = 60_000
"""The notes that are remembered at most: those of a few of the longest pieces."""

_VALUES = attrgetter(*(field.name for field in fields(Note)))


class PhraseKey(NamedTuple):
    """All that the music of a text depends on, but for the row that it begins in."""

    key: str
    tonic: Tonic
    called: str
    file: str
    column: int
    written: str
    text: str

    @classmethod
    def of(
        cls, text: Scalar, passage: PlacedText, key: str, tonic: Tonic, called: str
    ) -> PhraseKey | None:
        """Return the key of a text; None where its places are not those of the file."""
        if text.source.quoted:
            return None
        spot = text.source.spot(text.start)
        written = text.source.text[text.start : text.end]
        return cls(key, tonic, called, spot.file, spot.column, written, passage.text)


class _Known(NamedTuple):
    row: int
    phrase: Phrase


class PhraseMemory:
    """Texts with their music, those that were asked for last."""

    def __init__(self) -> None:
        self.known: OrderedDict[PhraseKey, _Known] = OrderedDict()
        self.notes = 0

    def get(self, key: PhraseKey, row: int) -> Phrase | None:
        """Return the music of a text that begins in a row, or None where it was not read before."""
        found = self.known.pop(key, None)
        if found is None:
            return None
        self.notes -= len(found.phrase.notes)
        phrase = found.phrase if row == found.row else moved(found.phrase, row - found.row)
        self.keep(key, row, phrase)
        return phrase

    def keep(self, key: PhraseKey, row: int, phrase: Phrase) -> None:
        """Keep the music of a text that was read without findings: these may have to do with more
        than the text."""
        before = self.known.pop(key, None)
        self.notes += len(phrase.notes) - (len(before.phrase.notes) if before else 0)
        self.known[key] = _Known(row, phrase)
        while self.notes > MOST_NOTES and len(self.known) > 1:
            _, oldest = self.known.popitem(last=False)
            self.notes -= len(oldest.phrase.notes)


def moved(phrase: Phrase, rows: int) -> Phrase:
    """Return the music of a text that stands so many rows further down."""

    def below(spot: Spot) -> Spot:
        return Spot(spot.file, spot.line + rows, spot.column, spot.width, spot.serial)

    # By position, for ``replace`` takes twice as long and there are thousands of them.
    found = replace(
        phrase,
        notes=tuple(
            Note(start, length, below(spot), *rest)
            for start, length, spot, *rest in map(_VALUES, phrase.notes)
        ),
        section_lines=tuple(replace(bar, spot=below(bar.spot)) for bar in phrase.section_lines),
    )
    vars(found)["facts"] = phrase.facts  # its times are the same
    return found
