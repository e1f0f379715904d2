"""Notes as they are written in a part: those of a player's lines, slashes where they are free.

The notes are those that ``melody`` sounds: a new entry takes the place of what would still be said.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType
from typing import Literal

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.entries import give_way
from cyclechart.arrange.timeline import Placed, Timeline
from cyclechart.catalog.roles import LineKind
from cyclechart.finding import Spot
from cyclechart.piece.model import Note
from cyclechart.piece.player import Player
from cyclechart.theory.spelling import Tonic

Head = Literal["", "slash", "cue"]

NOWHERE = Spot("", 0, 0)
"""The place in the file of what stands in no file."""


@dataclass(frozen=True, slots=True)
class Written(Note):
    """A note as it is written in a part; its ``start`` is where its part says.

    ``also``: further tones of a chord, upward, or further strokes at once. ``under``: the tones
    that are named under it where those are not its own; () for none. ``sa``: the Sa it is counted
    from, the passage's own where None. ``tied_in``: it goes on from a note that is not written
    just before it, ``tied_out``: into one that is not written just after. ``origin``: which placed
    line and which of its notes it is; (-1, -1) for none. ``says``: a text over it.
    """

    also: tuple[int | str, ...] = ()
    head: Head = ""
    under: tuple[int, ...] | None = None
    sa: Tonic | None = None
    tied_in: bool = False
    tied_out: bool = False
    origin: tuple[int, int] = (-1, -1)
    says: str = ""


def from_note(note: Note, start: Fraction, length: Fraction) -> Written:
    """A note of a line at another place."""
    return Written(
        start=start,
        length=length,
        spot=note.spot,
        pitch=note.pitch,
        syllable=note.syllable,
        grace=note.grace,
        marks=note.marks,
        glides=note.glides,
        word=note.word,
        cell=note.cell,
        within=note.within,
        script=note.script,
    )


def line_notes(timeline: Timeline, player: Player, kind: LineKind) -> list[Written]:
    """The composed notes of a player in beats of the timeline, free lines apart, as they sound."""
    notes: list[Written] = []
    starts: list[Fraction] = []
    for number, placed in enumerate(timeline.placed):
        line = placed.line
        if line.kind != kind or player.name not in placed.players or line.free:
            continue
        new = list(_notes(placed, number))
        if new:
            give_way(notes, starts, new[0].start, _cut)
            notes += new
            starts += [note.start for note in new]
    return notes


def _notes(placed: Placed, number: int) -> Iterator[Written]:
    for index, note in enumerate(placed.line.notes):
        start, length = placed.at(note), placed.lasts(note)
        if placed.until is not None:
            if start >= placed.until:
                return
            length = min(length, placed.until - start)
        written = from_note(note, start, length)
        yield replace(written, sa=placed.force.tonic, origin=(number, index))


def _cut(note: Written, length: Fraction) -> Written:
    """A note that ends earlier, and glides no more to the next."""
    return replace(note, length=length, glides=False)


def with_slashes(
    notes: Sequence[Written],
    bars: Sequence[Bar],
    own: Sequence[bool],
    says: Mapping[int, str] = MappingProxyType({}),
    busy: Sequence[tuple[Fraction, Fraction]] = (),
) -> list[Written]:
    """The notes, and a slash on each beat of the bars that are the player's ``own`` and hold none.

    What rings into such a bar is written up to its first beat line: there the player goes on.
    ``says``: a text over the first slash of some bars, by index. ``busy``: from where to where
    something is composed, in order: its rests are rests.
    """
    cut = list(notes)
    starts = [note.start for note in notes]
    found: list[Written] = []
    begun = [start for start, _ in busy]
    for number, (bar, mine) in enumerate(zip(bars, own, strict=True)):
        if not mine:
            continue
        first, until = bisect_left(starts, bar.start), bisect_left(starts, bar.end)
        if first < until and starts[first] == bar.start:
            cut[first] = _until(cut[first], _first_line(bar))
        elif first and cut[first - 1].end > bar.start:
            cut[first - 1] = _until(cut[first - 1], bar.start)
        spans = busy[max(0, bisect_right(begun, bar.start) - 1) : bisect_left(begun, bar.end)]
        slashes = list(_slashes(bar, cut[first:until], spans))
        if slashes and number in says:
            slashes[0] = replace(slashes[0], says=says[number])
        found += slashes
    return sorted([*cut, *found], key=lambda note: note.start)


def _until(note: Written, time: Fraction) -> Written:
    """A note that ends at a time at the latest."""
    return note if note.end <= time else replace(note, length=time - note.start, glides=False)


def _first_line(bar: Bar) -> Fraction:
    _, _, length = next(iter(bar.stretch.cycle.walk()))
    return bar.start + length


def _slashes(
    bar: Bar, notes: Sequence[Written], busy: Sequence[tuple[Fraction, Fraction]]
) -> Iterator[Written]:
    """A slash on every beat that none of the notes, all begun in the bar, sounds on, and that does
    not begin while something is composed."""
    for _, at, length in bar.stretch.cycle.walk():
        start = bar.start + at
        end = min(start + length, bar.end)
        if any(since <= start < until for since, until in busy):
            continue
        if start < end and not any(note.start < end and note.end > start for note in notes):
            yield Written(start, end - start, NOWHERE, syllable="/", head="slash", under=())
