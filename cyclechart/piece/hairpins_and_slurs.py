"""Hairpins and slurs of a line: which notes are under each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from cyclechart.piece.note import Note
from cyclechart.text.line_tree import DYNAMICS, HAIRPINS

HAIRPIN_ENDS = "hairpin-ends"
"""The mark of the last note under a hairpin. Nobody writes it: ``with_hairpin_ends`` adds it, so
that bars which are alike have their hairpins alike."""


class Hairpin(NamedTuple):
    """Notes that grow louder or softer: the indices of the first and the last, ``cresc`` or
    ``dim``, and the dynamic that follows right after them, or ""."""

    first: int
    last: int
    kind: str
    to: str = ""


def hairpins_of(notes: Sequence[Note]) -> Iterator[Hairpin]:
    """Yield the hairpins of some notes: each lasts until the next dynamic, the next hairpin, the
    note that ends it, or the last note."""
    kind, first = "", 0
    for index, note in enumerate(notes):
        level = next((mark for mark in note.marks if mark in DYNAMICS), "")
        new = next((mark for mark in note.marks if mark in HAIRPINS), "")
        if kind and (level or new):
            yield Hairpin(first, index - 1, kind, level)
            kind = ""
        if new:
            kind, first = new, index
        if kind and HAIRPIN_ENDS in note.marks:
            yield Hairpin(first, index, kind)
            kind = ""
    if kind:
        yield Hairpin(first, len(notes) - 1, kind)


def with_hairpin_ends(notes: tuple[Note, ...]) -> tuple[Note, ...]:
    """Return the notes of a line, with a mark on the last one under each hairpin."""
    ends = {hairpin.last for hairpin in hairpins_of(notes)}
    if not ends:
        return notes
    return tuple(
        replace(note, marks=(*note.marks, HAIRPIN_ENDS)) if index in ends else note
        for index, note in enumerate(notes)
    )


def slurs_of(notes: Iterable[Note]) -> Iterator[tuple[int, int]]:
    """Yield the indices of the first and the last note of each slur; one without its other end is
    none."""
    first = -1
    for index, note in enumerate(notes):
        if note.slur == "starts":
            first = index
        elif note.slur == "ends" and first >= 0:
            yield first, index
            first = -1


def slurred_notes(notes: Iterable[Note]) -> frozenset[int]:
    """Return the indices of the notes that a slur joins to the note before them."""
    return frozenset(
        index for first, last in slurs_of(notes) for index in range(first + 1, last + 1)
    )


def without_first_notes(notes: Sequence[Note], count: int) -> list[Note]:
    """Return the notes without the first so many; a slur that is cut begins with what is left."""
    kept = list(notes[count:])
    for first, last in slurs_of(notes):
        if first < count <= last:
            kept[0] = replace(kept[0], slur="starts" if count < last else "")
    return kept
