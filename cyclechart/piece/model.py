"""A piece as data. All times are exact beats (Fraction); pitches are semitones above middle Sa."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Literal

from cyclechart.finding import Spot
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.landing import Standing, stand
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic
from cyclechart.theory.tuning import Tuning

MELODY, HAND_DRUMS, DRONE = "melody", "tabla", "tanpura"
"""The three players of a piece that names none."""


@dataclass(frozen=True, slots=True)
class Note:
    """A struck note or stroke of a line. ``start`` counts from the line's beginning.

    Exactly one of ``pitch`` and ``syllable`` is set. ``glides``: into the next note.
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
    """Where in the cell's text it stands: from, to."""

    @property
    def end(self) -> Fraction:
        """Where it stops sounding, from the line's beginning."""
        return self.start + self.length


@dataclass(frozen=True, slots=True)
class SectionLine:
    """A ``|`` or ``||`` of the text at its offset from the line's beginning."""

    offset: Fraction
    double: bool
    spot: Spot


@dataclass(frozen=True, slots=True)
class Lands:
    """What a line says of its own landing: free of the cycle, or early or late by so much."""

    how: Literal["free", "anagat", "atit"]
    by: Fraction = Fraction(0)


@dataclass(frozen=True)
class Line:
    """A composed line. ``begins`` is the beat (from 1) of the cycle on which it begins."""

    name: str
    kind: Literal["melody", "strokes"]
    begins: Fraction
    length: Fraction
    notes: tuple[Note, ...]
    section_lines: tuple[SectionLine, ...]
    spot: Spot
    lands: Lands | None = None
    script: str = "sargam"
    whole: bool = True
    """Whether all of its text could be read: where not, its landing says nothing."""

    @property
    def free(self) -> bool:
        """Whether it is not measured against the cycle."""
        return self.lands is not None and self.lands.how == "free"

    def standing(self, cycle: Cycle) -> Standing:
        """How it stands in a cycle; worked out once, for the rules and every pass ask again."""
        known = self._standings.get(cycle.beats)
        if known is None:
            onsets = tuple(note.start for note in self.notes)
            says = {self.lands.how: self.lands.by} if self.lands is not None else {}
            known = self._standings[cycle.beats] = stand(
                onsets,
                self.length,
                self.begins,
                cycle.beats,
                early=says.get("anagat"),
                late=says.get("atit"),
            )
        return known

    @cached_property
    def _standings(self) -> dict[Fraction, Standing]:
        """By the beats of the cycle."""
        return {}

    @cached_property
    def breaths(self) -> tuple[tuple[Note, ...], ...]:
        """The notes in runs without a rest between."""
        runs: list[list[Note]] = []
        for note in self.notes:
            if not runs or runs[-1][-1].end != note.start:
                runs.append([])
            runs[-1].append(note)
        return tuple(tuple(run) for run in runs)


@dataclass(frozen=True, slots=True)
class Play:
    """A line by its players, so many times."""

    line: str
    times: int
    spot: Spot


@dataclass(frozen=True, slots=True)
class Free:
    """A stretch without meter over the drone: a line stretched over it, or a player's own."""

    what: str
    is_line: bool
    seconds: Fraction | None
    spot: Spot
    times: int = 1


@dataclass(frozen=True, slots=True)
class Solo:
    """Cycles left open for a player, over a line that keeps time or over the others."""

    player: str
    cycles: int
    over: str | None
    on_cue: bool
    spot: Spot
    times: int = 1


Step = Play | Free | Solo


@dataclass(frozen=True, slots=True)
class Liberty:
    """A departure taken on purpose: findings of this rule, line and tone become notes."""

    rule: str
    why: str
    line: str | None
    tone: str | None
    spot: Spot


@dataclass(frozen=True)
class Piece:
    """A whole piece as read. ``form`` is empty where the file has none."""

    file: str
    title: str
    composer: str
    tonic: Tonic
    mode: Mode
    cycle: Cycle
    tempo: Fraction
    tuning: Tuning
    lines: dict[str, Line]
    form: tuple[Step, ...]
    liberties: tuple[Liberty, ...]
    counts_in: bool
    spot: Spot

    @property
    def used_lines(self) -> dict[str, None]:
        """The lines that the form plays, by first use."""
        names: dict[str, None] = {}
        for step in self.steps:
            if isinstance(step, Play):
                names[step.line] = None
            elif isinstance(step, Free) and step.is_line:
                names[step.what] = None
            elif isinstance(step, Solo) and step.over:
                names[step.over] = None
        return names

    @property
    def steps(self) -> tuple[Step, ...]:
        """The form, or every line once in the order written."""
        if self.form:
            return self.form
        return tuple(
            Free(line.name, True, None, line.spot) if line.free else Play(line.name, 1, line.spot)
            for line in self.lines.values()
        )
