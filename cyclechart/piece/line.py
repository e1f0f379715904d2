"""A composed line and the cadences in it, as data."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, Literal, NamedTuple

from cyclechart.catalog.roles import LineKind
from cyclechart.finding import Spot
from cyclechart.piece.derivation import Derivation
from cyclechart.piece.note import Note, Phrase
from cyclechart.text.timing import SectionLine, Speed
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.landing import Standing, stand

if TYPE_CHECKING:
    from cyclechart.theory.cadence import Answer, Answers, Question


@dataclass(frozen=True, kw_only=True)
class Cadence:
    """A cadence as it stands in a line, from ``start`` on (beats of the line).

    ``answer`` is how it lands, or None where what is written lands nowhere and it stands as it is
    written; ``solved`` has all that land, the plainest first, for what the piece leaves open.
    ``statements`` are from where to where each is, ``rounds`` likewise (one without a chakradar),
    ``first_part`` likewise (the phrases of a korvai before its statements).
    ``cycle`` is the one it is worked out in, None where none is known.
    """

    cycle: Cycle | None
    question: Question
    answer: Answer | None
    solved: Answers
    start: Fraction
    statements: tuple[tuple[Fraction, Fraction], ...]
    rounds: tuple[tuple[Fraction, Fraction], ...]
    spot: Spot
    first_part: tuple[tuple[Fraction, Fraction], ...] = ()
    chained: bool = False
    """True if it begins where the link of a chain before it ends."""


class Lands(NamedTuple):
    """The landing that a line declares: free of the cycle, or early or late by so many beats."""

    how: Literal["free", "anagat", "atit"]
    by: Fraction = Fraction(0)


@dataclass(frozen=True, kw_only=True)
class Line:
    """A composed line.

    ``begins`` is the beat (from 1) of the cycle on which it begins; it comes home ``eduppu`` beats
    after a first beat.
    """

    name: str
    phrase: Phrase
    """Its music."""
    begins: Fraction
    spot: Spot
    lands: Lands | None = None
    cadences: tuple[Cadence, ...] = ()
    parts: tuple[str, ...] = ()
    """The lines that it is made of: links of a chain, the statement of a cadence."""
    eduppu: Fraction = Fraction(0)
    struck: tuple[Note, ...] | None = None
    """Of a line of chords, these in the rhythm that they are struck in; None for the players'
    own."""
    derivation: Derivation | None = None
    """How it is worked out from another line; None for a line of its own."""

    def __hash__(self) -> int:
        """Return a hash of its name, row and pitches: one of all that its notes have would cost
        more than it tells."""
        return self._hash

    @property
    def kind(self) -> LineKind:
        """A melody, drum strokes, or chords."""
        return self.phrase.kind

    @property
    def length(self) -> Fraction:
        """Its length in beats."""
        return self.phrase.length

    @property
    def notes(self) -> tuple[Note, ...]:
        """Its notes in the order of time."""
        return self.phrase.notes

    @property
    def section_lines(self) -> tuple[SectionLine, ...]:
        """The section lines of its text."""
        return self.phrase.section_lines

    @property
    def speeds(self) -> tuple[Speed, ...]:
        """The groups of its text at a speed of their own."""
        return self.phrase.speeds

    @property
    def whole(self) -> bool:
        """Return whether all of its text could be read: where not, its landing says nothing."""
        return self.phrase.whole

    def closes_with_cadence(self, cycle: Cycle) -> bool:
        """Return whether it ends with a cadence worked out in this cycle, which is judged."""
        return any(
            cadence.start + cadence.rounds[-1][1] == self.length and cadence.cycle == cycle
            for cadence in self.cadences
        )

    @property
    def free(self) -> bool:
        """Return whether it is not measured against the cycle."""
        return self.lands is not None and self.lands.how == "free"

    def standing(self, cycle: Cycle) -> Standing:
        """Return its standing in a cycle, worked out once: the rules and every pass ask again."""
        beats = (cycle.beats.numerator, cycle.beats.denominator)
        known = self._standings.get(beats)
        if known is None:
            onsets = tuple(note.start for note in self.notes)
            says = {self.lands.how: self.lands.by} if self.lands is not None else {}
            known = self._standings[beats] = stand(
                onsets,
                self.length,
                self.begins,
                cycle.beats,
                early=says.get("anagat"),
                late=says.get("atit"),
                eduppu=self.eduppu,
            )
        return known

    def round_in(self, cycle: Cycle) -> Fraction:
        """Return the beats from one round of it to the next in a cycle: one turn at least."""
        standing = self.standing(cycle)
        return max(standing.hands_over - standing.first, cycle.beats)

    @property
    def divisions(self) -> frozenset[int]:
        """The denominators of the beat that it begins on, of the times of its notes, and of their
        lengths."""
        return self.phrase.facts.divisions | {self.begins.denominator}

    @cached_property
    def _hash(self) -> int:
        pitches = tuple(note.pitch for note in self.notes)
        return hash((self.name, self.spot.line, pitches))

    @cached_property
    def worked_out(self) -> dict[object, object]:
        """What others have worked out of it, by keys of their own; it is gone with the line."""
        return {}

    @cached_property
    def _standings(self) -> dict[tuple[int, int], Standing]:
        """The standings by the beats of the cycle."""
        return {}

    @cached_property
    def breaths(self) -> tuple[tuple[Note, ...], ...]:
        """The notes in runs without a rest between."""
        starts = self.phrase.facts.breaths
        return tuple(self.notes[start:end] for start, end in pairwise(starts))
