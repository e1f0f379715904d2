"""The written notes that a player's sounds belong to, with what phrasing adds to each."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterator
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from cyclechart.arrange.assigned_lines import lines_of
from cyclechart.arrange.phrasing.note_lifts import is_marked, note_lifts
from cyclechart.arrange.phrasing.phrases import phrases_of
from cyclechart.arrange.phrasing.swells import swells_of
from cyclechart.arrange.roles.melody_sounds import LOUDNESS, PLAIN
from cyclechart.arrange.timeline import PlacedLine, Timeline
from cyclechart.catalog.roles import LineKind
from cyclechart.piece.hairpins_and_slurs import hairpins_of, slurred_notes
from cyclechart.piece.note import Note


class PlayedNote(NamedTuple):
    """A note as it is played: where it begins and ends in beats of the timeline, the velocity that
    is added to it, and what it gains while it is held. ``slurred``: to the note before it.
    ``hairpin``: the hairpin it is under, numbered through the part, or -1; ``louder``: whether that
    goes up. ``marked``: something is written about its loudness.
    ``begins``: a phrase."""

    start: Fraction
    end: Fraction
    note: Note
    lift: int
    swell: int = 0
    slurred: bool = False
    hairpin: int = -1
    louder: bool = False
    marked: bool = False
    begins: bool = False


class PlayedLines:
    """The lines of a timeline as they are played, each worked out once for all its players."""

    def __init__(self, timeline: Timeline) -> None:
        self.timeline = timeline
        self.hairpins = 0
        self.known: dict[tuple[int, bool], list[PlayedNote]] = {}

    def of(self, number: int, placed: PlacedLine, *, again: bool) -> list[PlayedNote]:
        """Return the notes of the line of a number; ``again``: its player just played it."""
        known = self.known.get((number, again))
        if known is None:
            known = self.known[number, again] = list(self._notes(placed, again=again))
        return known

    def _notes(self, placed: PlacedLine, *, again: bool) -> Iterator[PlayedNote]:
        notes = placed.line.notes
        lifts = note_lifts(self.timeline, placed, again=again, metre=placed.line.kind != "kit")
        hairpins = list(hairpins_of(notes))
        slurred, marked = slurred_notes(notes), is_marked(placed)
        begins = {first for first, _ in phrases_of(placed.line)}
        under = {
            at: (self.hairpins + number, hairpin.kind == "cresc")
            for number, hairpin in enumerate(hairpins)
            for at in range(hairpin.first, hairpin.last + 1)
        }
        self.hairpins += len(hairpins)
        level = LOUDNESS.get(placed.state.level, PLAIN)
        swells = swells_of(notes, level, LOUDNESS) if hairpins else {}
        for index, note, start, length in placed.sounding_notes():
            number, louder = under.get(index, (-1, False))
            yield PlayedNote(
                start, start + length, note, lifts[index], swells.get(index, 0),
                index in slurred, number, louder, marked, index in begins,
            )  # fmt: skip


class PlayedNotes:
    """The notes of a player's lines of some kinds in order of time: a new line cuts off the one
    before it."""

    def __init__(self, lines: PlayedLines, player: str, kinds: Collection[LineKind]) -> None:
        self.notes: list[PlayedNote] = []
        before: PlacedLine | None = None
        for number, placed in lines_of(lines.timeline, player, kinds, free=True):
            again = before is not None and before.line is placed.line
            new = lines.of(number, placed, again=again)
            if new:
                del self.notes[bisect_left(self.notes, new[0].start, key=_start) :]
                self.notes += new
            before = placed

    @cached_property
    def _starts(self) -> list[Fraction]:
        return [note.start for note in self.notes]

    def index_at(self, time: Fraction) -> int:
        """Return the index of the note that sounds at a time, or -1."""
        at = bisect_right(self._starts, time) - 1
        return at if at >= 0 and time < self.notes[at].end else -1


def _start(note: PlayedNote) -> Fraction:
    return note.start
