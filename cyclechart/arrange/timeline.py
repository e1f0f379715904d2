"""The timeline: stretches of time and the lines placed over them, in beats from the beginning."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import Literal, NamedTuple

from cyclechart.piece.line import Line
from cyclechart.piece.note import Note
from cyclechart.piece.steps import StepState
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

FERMATA = "fermata"
"""The label of a stretch in which the last stroke is held."""

Kind = Literal["count-in", "lead-in", "metered", "free"]


class SoloTurn(NamedTuple):
    """A run of time in which a player improvises, in beats of the timeline."""

    player: str
    start: Fraction
    end: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A run of time of one kind; ``start`` and ``end`` in beats, ``tempo`` in beats a minute.

    Unless free, it is whole turns of its ``cycle``; the last may be cut off by the end of the
    piece. ``soloist``: the player who improvises in it, or "". ``sharing``: several who
    do, in equal parts one after the other if it is ``split`` (a player once for each part), else
    together. ``clapped``: claps and
    waves keep time in it. ``to_tempo``: the tempo reached by a steady change at its end, or None.
    ``level``: its dynamics (``pp`` to ``ff``), or "".
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
    sharing: tuple[str, ...] = ()
    split: bool = False
    clapped: bool = False
    to_tempo: Fraction | None = None
    level: str = ""
    since: Fraction | None = None
    """The beat where the change of tempo starts, if that is not the start of the stretch."""
    step: int = -1
    """The index of its step of the form; -1 before the first."""
    swing: Fraction = Fraction(1)
    """How long the first half of a halved beat lasts to the second."""
    turn: int = 0
    """The number of the repetition of that step, from 1; 0 before the first step."""

    @property
    def soloists(self) -> tuple[str, ...]:
        """All who improvise in it."""
        return (self.soloist,) if self.soloist else self.sharing

    @property
    def together(self) -> bool:
        """Return whether several improvise in it at once."""
        return bool(self.sharing) and not self.split

    @property
    def turns(self) -> tuple[SoloTurn, ...]:
        """The turns of those who improvise in it, in order; a player may have several."""
        if not self.split:
            return tuple(SoloTurn(player, self.start, self.end) for player in self.soloists)
        part = (self.end - self.start) / len(self.sharing)
        starts = [self.start + number * part for number in range(len(self.sharing))]
        return tuple(
            SoloTurn(player, start, start + part)
            for player, start in zip(self.sharing, starts, strict=True)
        )

    def improvised_throughout(self, player: str) -> bool:
        """Return whether a player improvises in the whole of it."""
        return player in self.soloists and not self.split

    def soloists_at(self, time: Fraction) -> tuple[str, ...]:
        """Return who improvises in it at a time in beats."""
        if not self.split:
            return self.soloists
        return tuple(turn.player for turn in self.turns if turn.start <= time < turn.end)

    def tempo_at(self, time: Fraction) -> Fraction:
        """Return the beats a minute at a time (beats of the timeline) within the stretch."""
        begin = self.start if self.since is None else self.since
        if self.to_tempo is None or time <= begin:
            return self.tempo
        return self.tempo + (self.to_tempo - self.tempo) * (time - begin) / (self.end - begin)

    def even_parts(self, seconds: int) -> Iterator[tuple[Fraction, Fraction]]:
        """Yield (beats from its start, length in beats) of parts of about so many seconds.

        Each is a whole number of beats; a remainder under half a part is added to the last.
        """
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
    """A line on the timeline: it begins at ``start`` and is cut off at ``until`` (beats).

    One beat of the line takes ``stretch`` beats of the timeline. ``players``: the names of its
    players. ``state``: the cycle, mode, tonic and tempo of its step, valid for its pickup as well.
    ``since``: the beat before which nothing of it sounds, or None. ``free_from``: the beat from
    which its players are free for what their role does, apart from the ring of its last note; None
    for its end. ``octaves``: by how many octaves players have it higher in this step. ``held_to``:
    the beat to which a fermata holds its last note, or None.
    """

    line: Line
    start: Fraction
    state: StepState
    until: Fraction | None = None
    stretch: int = 1
    players: tuple[str, ...] = ()
    since: Fraction | None = None
    free_from: Fraction | None = None
    octaves: tuple[tuple[str, int], ...] = ()
    held_to: Fraction | None = None

    @property
    def body_start(self) -> Fraction:
        """The first beat of its body, after a pickup."""
        if self.line.free:
            return self.start if self.since is None else max(self.start, self.since)
        return self.start - self.line.standing(self.state.cycle).offset

    @property
    def span(self) -> tuple[Fraction, Fraction]:
        """From where to where its players have no time for anything else, in beats."""
        start = self.start if self.since is None else max(self.start, self.since)
        end = self.free_from
        if end is None:
            end = self.start + self.line.length * self.stretch
        if self.until is not None:
            end = min(end, self.until)
        return start, max(start, end)

    def octave_for(self, player: str) -> int:
        """Return by how many octaves a player has it higher than elsewhere."""
        return dict(self.octaves).get(player, 0) if self.octaves else 0

    def sounding_notes(self) -> Iterator[tuple[int, Note, Fraction, Fraction]]:
        """Yield each note that sounds with its number in the line, its start and its length in
        beats of the timeline."""
        for number, note in enumerate(self.line.notes):
            start = self.start_of(note)
            if self.until is not None and start >= self.until:
                return
            if self.since is None or start >= self.since:
                length = self.length_of(note)
                yield (
                    number,
                    note,
                    start,
                    length if self.until is None else min(length, self.until - start),
                )

    def rings_at(self, time: Fraction) -> bool:
        """Return whether its last note rings at a time or ends there."""
        if not self.line.notes:
            return False
        last = self.line.notes[-1]
        return self.start_of(last) <= time <= self.start_of(last) + self.length_of(last)

    def start_of(self, note: Note) -> Fraction:
        """Return the start of a note of the line in beats of the timeline."""
        return self.start + (note.start if self.stretch == 1 else note.start * self.stretch)

    def length_of(self, note: Note) -> Fraction:
        """Return the written length of a note of the line in beats of the timeline."""
        if self.held_to is not None and note is self.line.notes[-1]:
            return self.held_to - self.start_of(note)
        return note.length if self.stretch == 1 else note.length * self.stretch


class WrittenHit(NamedTuple):
    """A hit that a step asks for: start and length in beats; ``players`` () are kit and bass."""

    at: Fraction
    length: Fraction
    players: tuple[str, ...]


class StopTime(NamedTuple):
    """A run of time in which players play nothing but hits; () are kit and bass."""

    start: Fraction
    end: Fraction
    players: tuple[str, ...]


@dataclass(frozen=True)
class Timeline:
    """The stretches end to end, the lines placed over them, and the end in beats.

    ``closing`` is the beat on which the whole piece lands. It is None for a piece that does not
    land, or that goes on with cycles after the landing.
    """

    stretches: tuple[Stretch, ...]
    placed_lines: tuple[PlacedLine, ...]
    end: Fraction
    closing: Fraction | None
    holds: tuple[Fraction, ...] = ()
    """Where fermatas begin, on the beat of what is held."""
    hits: tuple[WrittenHit, ...] = ()
    stops: tuple[StopTime, ...] = ()

    @property
    def landings(self) -> tuple[Fraction, ...]:
        """The beats on which all land and nobody keeps time any more: of fermatas and the close."""
        return tuple(sorted({*self.holds, *([] if self.closing is None else [self.closing])}))

    def at(self, time: Fraction) -> Stretch:
        """Return the stretch at a time in beats: the later one where two meet, the last one at the
        end."""
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
