"""A player's notes cut at the barlines, and joined again where bars are written on end."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_notes import PartNote
from cyclechart.piece.hairpins_and_slurs import HAIRPIN_ENDS
from cyclechart.text.line_tree import CUT, HAIRPINS


@dataclass(frozen=True)
class Fragment:
    """The part of a note within a bar; its ``start`` counts from the bar's.

    ``note.tied_in``: tied from the bar before; ``note.tied_out``: tied into the next bar.
    """

    note: PartNote

    @property
    def slash(self) -> bool:
        """True for a slash: a beat left to the player."""
        return self.note.head == "slash"

    @cached_property
    def content_key(self) -> Hashable:
        """All that must be equal in bars written once: everything but the place in the file and
        what its part says over it."""
        note = self.note
        return (
            note.start, note.length, note.pitch, note.syllable, note.also, note.grace, note.marks,
            note.glides, note.word, note.head, note.under, note.sa, note.tied_in, note.tied_out,
            note.chord,
            note.verses,
            note.slurred, note.words,
        )  # fmt: skip


def fragments_of(notes: Sequence[PartNote], bars: Sequence[Bar]) -> list[tuple[Fragment, ...]]:
    """Return the fragments of each bar; the notes are in order, in beats of the timeline."""
    by_bar: list[tuple[Fragment, ...]] = []
    ends = [note.end for note in notes]
    first = 0
    for bar in bars:
        while first < len(notes) and ends[first] <= bar.start:
            first += 1
        inside = []
        at = first
        while at < len(notes) and notes[at].start < bar.end:
            if ends[at] > bar.start:
                inside.append(_bar_fragment(notes[at], ends[at], bar))
            at += 1
        by_bar.append(tuple(inside))
    return by_bar


def _bar_fragment(note: PartNote, note_end: Fraction, bar: Bar) -> Fragment:
    tied_in, tied_out = note.start < bar.start, note_end > bar.end
    start = bar.start if tied_in else note.start
    end = bar.end if tied_out else note_end
    return Fragment(
        replace(
            note,
            start=start - bar.start,
            length=end - start if tied_in or tied_out else note.length,
            tied_in=tied_in,
            tied_out=tied_out,
            text="" if tied_in else note.text,
            words="" if tied_in else note.words,
            marks=_marks_of_part(note.marks, tied_in, tied_out),
        )
    )


def _marks_of_part(marks: tuple[str, ...], tied_in: bool, tied_out: bool) -> tuple[str, ...]:
    """Return the marks of a part of a note: a hairpin begins with the first, a cut-off and the end
    of a hairpin stand at the last."""
    if tied_in and not _AT_START.isdisjoint(marks):
        marks = tuple(mark for mark in marks if mark not in _AT_START)
    if tied_out and not _AT_END.isdisjoint(marks):
        marks = tuple(mark for mark in marks if mark not in _AT_END)
    return marks


_AT_START = frozenset(HAIRPINS)
_AT_END = frozenset((CUT, HAIRPIN_ENDS))


def join_fragments(
    notes: list[PartNote], fragments: Sequence[Fragment], at: Fraction, follows: bool
) -> None:
    """Append the notes of a further bar that begins at beat ``at``.

    With ``follows`` (the bar before is written just before it), a note tied from that bar is joined
    with it. Where the bar before is another, no slur comes from there.
    """
    for number, fragment in enumerate(fragments):
        note = fragment.note
        if not number and not follows and note.slurred:
            note = replace(note, slurred=False)
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
            ends = tuple(mark for mark in note.marks if mark in _AT_END)
            notes[-1] = replace(
                before, length=length, tied_out=note.tied_out, glides=note.glides,
                marks=before.marks + ends,
            )  # fmt: skip
        else:
            notes.append(replace(note, start=start))
