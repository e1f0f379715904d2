"""What a player has in each bar: his notes cut at the barlines, and put together again."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_notes import PartNote


@dataclass(frozen=True)
class Fragment:
    """What of a note lies in a bar: its ``start`` counts from the bar's.

    ``note.tied_in``: it goes on from the bar before, ``note.tied_out``: into the next one.
    """

    note: PartNote

    @property
    def slash(self) -> bool:
        """Whether it is no note but a beat of the player's own."""
        return self.note.head == "slash"

    @cached_property
    def content_key(self) -> Hashable:
        """What has to be alike in bars that are folded: all but where in the file it is from."""
        note = self.note
        return (
            note.start, note.length, note.pitch, note.syllable, note.also, note.grace, note.marks,
            note.glides, note.word, note.head, note.under, note.sa, note.tied_in, note.tied_out,
            note.text,
        )  # fmt: skip


def fragments_of(notes: Sequence[PartNote], bars: Sequence[Bar]) -> list[tuple[Fragment, ...]]:
    """The notes (in order, in beats of the timeline) cut at the ends of the bars."""
    by_bar: list[tuple[Fragment, ...]] = []
    first = 0
    for bar in bars:
        while first < len(notes) and notes[first].end <= bar.start:
            first += 1
        inside = []
        at = first
        while at < len(notes) and notes[at].start < bar.end:
            if notes[at].end > bar.start:
                inside.append(_bar_fragment(notes[at], bar))
            at += 1
        by_bar.append(tuple(inside))
    return by_bar


def _bar_fragment(note: PartNote, bar: Bar) -> Fragment:
    start, end = max(note.start, bar.start), min(note.end, bar.end)
    return Fragment(
        replace(
            note,
            start=start - bar.start,
            length=end - start,
            tied_in=note.start < bar.start,
            tied_out=note.end > bar.end,
        )
    )


def join_fragments(
    notes: list[PartNote], fragments: Sequence[Fragment], at: Fraction, follows: bool
) -> None:
    """Add to the notes those of a further bar that begins ``at``.

    A note that goes on from the bar before is one with its beginning where that bar is written
    just before (``follows``).
    """
    for fragment in fragments:
        note = fragment.note
        start = at + note.start
        before = notes[-1] if notes else None
        if (
            before is not None
            and follows
            and note.tied_in
            and before.tied_out
            and before.end == start
        ):
            length = before.length + note.length
            notes[-1] = replace(before, length=length, tied_out=note.tied_out, glides=note.glides)
        else:
            notes.append(replace(note, start=start))
