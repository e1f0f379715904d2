"""The notes of a line as they are written: times in exact beats, pitches in semitones above the
middle Sa."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Literal, NamedTuple

from cyclechart.catalog.roles import LineKind
from cyclechart.finding import Spot
from cyclechart.text.timing import SectionLine, Speed
from cyclechart.theory.chord_symbols import ChordSymbol

CUT_TO = Fraction(3, 4)
"""The share of its written length that a note with a cut-off sounds, at most (our choice): long
enough to be that note, short enough for the silence to be heard. Nothing glides out of it."""


@dataclass(frozen=True, slots=True)
class Note:
    """A struck note, stroke or chord of a line. ``start`` counts from the line's beginning.

    Exactly one of ``pitch``, ``syllable``, ``chord`` and ``drums`` is set. ``glides``: into the
    next note.
    """

    start: Fraction
    length: Fraction
    spot: Spot
    pitch: int | None = None
    syllable: str = ""
    grace: tuple[int | str, ...] = ()
    marks: tuple[str, ...] = ()
    glides: bool = False
    word: str = ""
    cell: str = ""
    """Its cell as written, for showing a change."""
    within: tuple[int, int] = (0, 0)
    """Its characters in the cell's text: from, to."""
    script: str = "sargam"
    """The key of the text it is written in."""
    chord: ChordSymbol | None = None
    drums: tuple[str, ...] = ()
    """The drums of a kit that are struck at once, feet first."""
    text: str = ""
    """Words above it."""
    slur: Literal["", "starts", "ends"] = ""
    """The end of a slur that it is at; of those within nothing is said."""
    verses: tuple[str, ...] = ()
    """Its syllables in the second verse and those after it; ``word`` is that of the first."""

    @property
    def symbol(self) -> str:
        """A chord as it is written, without decorations."""
        start, end = self.within
        return re.sub(r"![^!]*!", "", self.cell[start:end])

    @property
    def end(self) -> Fraction:
        """The end of its sound, from the line's beginning."""
        return self.start + self.length


@dataclass(frozen=True, kw_only=True)
class Phrase:
    """Music as it is written in one text: times count from its beginning."""

    kind: LineKind
    notes: tuple[Note, ...]
    section_lines: tuple[SectionLine, ...]
    speeds: tuple[Speed, ...]
    length: Fraction
    whole: bool = True
    """True if all of its text could be read."""

    @cached_property
    def facts(self) -> PhraseFacts:
        """What its times say, worked out once."""
        return phrase_facts(self.notes)


class PhraseFacts(NamedTuple):
    """What the times of some notes say, wherever they stand in the file.

    ``breaths``: the index of the first note of each run without a rest between, and of the end.
    ``divisions``: the denominators of the times at which notes begin, and of their lengths.
    """

    breaths: tuple[int, ...]
    divisions: frozenset[int]


def phrase_facts(notes: tuple[Note, ...]) -> PhraseFacts:
    """Return what the times of some notes say."""
    breaths, end = [], None
    divisions: set[int] = set()
    for index, note in enumerate(notes):
        if end != note.start:
            breaths.append(index)
        end = note.end
        divisions |= {note.start.denominator, note.length.denominator}
    return PhraseFacts((*breaths, len(notes)), frozenset(divisions))
