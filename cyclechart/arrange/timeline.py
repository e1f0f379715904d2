"""A timeline: which line or stretch stands where, in beats from the very beginning."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Literal

from cyclechart.piece.model import Line, Note
from cyclechart.piece.steps import StepState
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

Kind = Literal["count-in", "lead-in", "metered", "free"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A run of time of one kind. ``soloist`` is the player it is left open for, or "".

    But for a free one it is whole turns of its ``cycle``, and the last may be cut off by the end.
    ``clapped``: claps and waves keep the time in it. ``to_tempo``: the tempo it comes to by its
    end, evenly, or None. ``level``: how loud all of it is (``pp`` to ``ff``), or "".
    """

    kind: Kind
    start: Fraction
    end: Fraction
    tempo: Fraction
    cycle: Cycle
    label: str
    mode: Mode
    tonic: Tonic
    soloist: str = ""
    clapped: bool = False
    to_tempo: Fraction | None = None
    level: str = ""
    since: Fraction | None = None
    """From when on its tempo changes, where that is not its start."""
    step: int = -1
    """The index of the step of the form that it is played for; -1 before the first."""
    turn: int = 0
    """Which of that step's times it is, from 1 on."""

    def tempo_at(self, time: Fraction) -> Fraction:
        """Beats a minute at a time (beats of the timeline) within it."""
        begin = self.start if self.since is None else self.since
        if self.to_tempo is None or time <= begin:
            return self.tempo
        return self.tempo + (self.to_tempo - self.tempo) * (time - begin) / (self.end - begin)

    def even_parts(self, seconds: int) -> Iterator[tuple[Fraction, Fraction]]:
        """(beats from its start, beats) of parts of about so many seconds, each of whole beats; the
        last takes what would be too short for a part of its own."""
        beats = Fraction(max(1, round(self.tempo * seconds / 60)))
        length = self.end - self.start
        at = Fraction(0)
        while length - at >= beats * Fraction(3, 2):
            yield at, beats
            at += beats
        if at < length:
            yield at, length - at


@dataclass(frozen=True, slots=True)
class PlacedLine:
    """A line laid on the timeline: its first cell sounds at ``start``; cut off at ``until``.

    One beat of the line takes ``stretch`` beats of the timeline. ``players``: who plays it.
    ``state``: what is in force in its step; of a pickup too, though that sounds before.
    """

    line: Line
    start: Fraction
    state: StepState
    until: Fraction | None = None
    stretch: int = 1
    players: tuple[str, ...] = ()

    def start_of(self, note: Note) -> Fraction:
        """Where a note of the line begins, in beats of the timeline."""
        return self.start + note.start * self.stretch

    def length_of(self, note: Note) -> Fraction:
        """How long a note of the line is written to sound, in beats of the timeline."""
        return note.length * self.stretch


@dataclass(frozen=True)
class Timeline:
    """The stretches end to end, the lines laid over them, and where it all ends.

    ``closing`` is the first beat on which the piece lands at its end, or None where it does not, or
    where cycles are written out after the landing and kept time to.
    """

    stretches: tuple[Stretch, ...]
    placed_lines: tuple[PlacedLine, ...]
    end: Fraction
    closing: Fraction | None

    def at(self, time: Fraction) -> Stretch:
        """The stretch that a time lies in: where two meet the later; of the last its end too."""
        number = bisect_right(self._starts, time) - 1
        return self._nonempty[max(number, 0)]

    @cached_property
    def _nonempty(self) -> list[Stretch]:
        return [stretch for stretch in self.stretches if stretch.end > stretch.start] or list(
            self.stretches
        )

    @cached_property
    def _starts(self) -> list[Fraction]:
        return [stretch.start for stretch in self._nonempty]
