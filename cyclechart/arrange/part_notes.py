"""The notes written in a part: those of a player's lines, and slashes in bars left open.

They match the sounds of ``roles.melody``: where a line enters, the line before it stops.
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
from cyclechart.arrange.timeline import PlacedLine, Timeline
from cyclechart.catalog.roles import LineKind
from cyclechart.finding import Spot
from cyclechart.piece.hairpins_and_slurs import slurred_notes, with_hairpin_ends
from cyclechart.piece.note import Note
from cyclechart.piece.player import Player
from cyclechart.piece.steps import LEVELS, StepState
from cyclechart.text.line_tree import HAIRPINS
from cyclechart.theory.spelling import Tonic

Head = Literal["", "slash", "rhythm", "cue"]

PLAIN = "mf"
"""The dynamics that a step without its own returns to, after one that had some."""

NO_SPOT = Spot("", 0, 0)
"""The spot of a note that no file contains."""


@dataclass(frozen=True, slots=True)
class PartNote(Note):
    """A note in a part; ``start`` counts beats of the timeline, a bar or a strain, by context.

    ``head``: "" for a tone or stroke, "slash" for time that the player fills, "rhythm" for a
    written rhythm of chords, "cue" for a small note.
    ``also``: the other tones of a chord from low to high, or other strokes at the same time.
    ``under``: the tones or strokes named under it, where they differ from its own; () for no name.
    ``sa``: the Sa that its pitch counts from; None for the passage's own. ``tied_in``: tied to a
    note that is not written just before it; ``tied_out``: tied to one that is not written just
    after it. ``slurred``: a slur joins it to the note before; ``words``: those of its line above it
    (``text`` has what its part says there). ``origin``: the index of its placed line and of its
    note there; (-1, -1) for none.
    """

    also: tuple[int | str, ...] = ()
    head: Head = ""
    under: tuple[int | str, ...] | None = None
    sa: Tonic | None = None
    tied_in: bool = False
    tied_out: bool = False
    slurred: bool = False
    words: str = ""
    origin: tuple[int, int] = (-1, -1)


def from_note(
    note: Note,
    start: Fraction,
    length: Fraction,
    *,
    sa: Tonic | None = None,
    slurred: bool = False,
    origin: tuple[int, int] = (-1, -1),
) -> PartNote:
    """Return a note of a line as a part note with another start and length (beats)."""
    return PartNote(
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
        chord=note.chord,
        drums=note.drums,
        verses=note.verses,
        sa=sa,
        slurred=slurred,
        words=note.text,
        origin=origin,
    )


def struck_together(note: Note) -> PartNote:
    """Return a note of a kit line as it is written: its first drum, with the others at its time."""
    first, *others = note.drums
    written = note if isinstance(note, PartNote) else from_note(note, note.start, note.length)
    graces = tuple(name for value in note.grace for name in str(value).split("+")[:1])
    return replace(
        written, syllable=first, also=tuple(others), drums=(), grace=graces, under=()
    )  # fmt: skip


def line_notes(timeline: Timeline, player: Player, kind: LineKind) -> list[PartNote]:
    """Return a player's composed notes of one kind in beats of the timeline, without those of
    passages without meter."""
    notes: list[PartNote] = []
    starts: list[Fraction] = []
    levels = _StepLevels()
    for number, placed in enumerate(timeline.placed_lines):
        line = placed.line
        if line.kind != kind or player.name not in placed.players:
            continue
        here = timeline.at(placed.body_start)
        if line.free and here.kind == "free":
            continue
        step = here.step
        new = levels.marked(placed, list(_placed_notes(placed, number, player)), step)
        if new:
            give_way(notes, starts, new[0].start, _shortened)
            notes += new
            starts += [note.start for note in new]
    return notes


@dataclass
class _StepLevels:
    """Marks the first note of each line with the dynamics of its step.

    Every time a step is played its notes are marked alike, so that they are still written once. A
    pickup is written with the time or the step before, and marked only where that changes what
    holds, or after a step in which the player rests.
    """

    state: StepState | None = None
    mark: str = ""
    in_force: str = ""
    """The dynamics of the last step that had some, or the return from them."""
    shown: str = ""
    """The last dynamics that stand at the staff."""
    step: int = -1

    def marked(self, placed: PlacedLine, notes: list[PartNote], step: int) -> list[PartNote]:
        """Return the notes of a placed line with the mark of its step, where they need one."""
        level = placed.state.level
        if placed.state != self.state:
            self.state = placed.state
            self.mark = level or (PLAIN if self.in_force not in ("", PLAIN) else "")
        self.in_force = level or self.mark or self.in_force
        holds = self.shown == self.mark and step <= self.step + 1
        self.step = step
        if not notes:
            return notes
        own = [mark for note in notes for mark in note.marks if mark in (*LEVELS, *HAIRPINS)]
        self.shown = own[-1] if own else self.mark or self.shown
        pickup = notes[0].start < placed.body_start
        if not self.mark or (holds and pickup) or any(m in LEVELS for m in notes[0].marks):
            return notes
        return [replace(notes[0], marks=(self.mark, *notes[0].marks)), *notes[1:]]


def _placed_notes(placed: PlacedLine, number: int, player: Player) -> Iterator[PartNote]:
    octaves = player.octave_in_notes + placed.octave_for(player.name)
    slurred = slurred_notes(placed.line.notes)
    signed = with_hairpin_ends(placed.line.notes)
    for index, _, start, length in placed.sounding_notes():
        written = from_note(
            signed[index],
            start,
            length,
            sa=placed.state.tonic,
            slurred=index in slurred,
            origin=(number, index),
        )
        yield with_octaves(written, octaves) if octaves else written


def with_octaves(note: PartNote, octaves: int) -> PartNote:
    """Return a melody's note so many octaves higher on the staff; its name keeps its octave marks,
    which count from where its player has the middle Sa."""
    if note.pitch is None:
        return note
    grace = tuple(pitch + 12 * octaves if isinstance(pitch, int) else pitch for pitch in note.grace)
    return replace(note, pitch=note.pitch + 12 * octaves, grace=grace, under=(note.pitch,))


def _shortened(note: PartNote, length: Fraction) -> PartNote:
    """Return a note that ends earlier and does not glide to the next."""
    return replace(note, length=length, glides=False)


def with_slashes(
    notes: Sequence[PartNote],
    bars: Sequence[Bar],
    left_open: Sequence[bool],
    texts: Mapping[Fraction, str] = MappingProxyType({}),
    busy: Sequence[tuple[Fraction, Fraction]] = (),
) -> list[PartNote]:
    """Return the notes, with a slash on each beat without a note in the bars left open.

    A note that lasts into such a bar is cut at the end of its first beat. ``texts``: words over the
    first slash of a bar from a time on, by that time. ``busy``: (start, end) of composed passages
    in order of time; rests in them stay rests.
    """
    cut = list(notes)
    starts = [note.start for note in notes]
    slash_notes: list[PartNote] = []
    busy_starts = [start for start, _ in busy]
    said = sorted(texts)
    for bar, open_bar in zip(bars, left_open, strict=True):
        if not open_bar:
            continue
        first, until = bisect_left(starts, bar.start), bisect_left(starts, bar.end)
        if first < until and starts[first] == bar.start:
            cut[first] = _cut_at(cut[first], _first_beat_line(bar))
        elif (
            first
            and cut[first - 1].end > bar.start
            and not (
                first < until
                and starts[first] == cut[first - 1].end  # the line goes on in this bar
            )
        ):
            cut[first - 1] = _cut_at(cut[first - 1], bar.start)
        spans = busy[
            max(0, bisect_right(busy_starts, bar.start) - 1) : bisect_left(busy_starts, bar.end)
        ]
        slashes = list(_slashes(bar, cut[first:until], spans))
        for time in said[bisect_left(said, bar.start) : bisect_left(said, bar.end)]:
            over = next((n for n, slash in enumerate(slashes) if slash.start >= time), None)
            if over is not None:
                slashes[over] = replace(slashes[over], text=texts[time])
        slash_notes += slashes
    return sorted([*cut, *slash_notes], key=lambda note: note.start)


def _cut_at(note: PartNote, time: Fraction) -> PartNote:
    """Return the note, cut to end at a time at the latest."""
    return note if note.end <= time else replace(note, length=time - note.start, glides=False)


def _first_beat_line(bar: Bar) -> Fraction:
    _, _, length = next(iter(bar.stretch.cycle.walk()))
    return bar.start + length


def _slashes(
    bar: Bar, notes: Sequence[PartNote], busy: Sequence[tuple[Fraction, Fraction]]
) -> Iterator[PartNote]:
    """Yield a slash for every beat that neither a note of the bar nor a composed passage covers."""
    for _, at, length in bar.stretch.cycle.walk():
        start = bar.start + at
        end = min(start + length, bar.end)
        if any(since <= start < until for since, until in busy):
            continue
        if start < end and not any(note.start < end and note.end > start for note in notes):
            yield slash(start, end - start)


def slash(start: Fraction, length: Fraction) -> PartNote:
    """Return a slash: time that a player fills as they like."""
    return PartNote(start, length, NO_SPOT, syllable="/", head="slash", under=())
