"""The rows of a drafted line: a cell for each beat, section lines, a row for each cycle."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import lcm
from typing import NamedTuple

from cyclechart.theory.cycle import Cycle
from cyclechart.theory.tones import show_pitch

LONGEST_ROW = 96
"""The letters of a row, beyond which a cycle is broken at a section."""


class DraftNote(NamedTuple):
    """A note; ``start`` in beats from the first beat of its line's first cycle."""

    start: Fraction
    length: Fraction
    pitch: int

    @property
    def end(self) -> Fraction:
        """When it ends."""
        return self.start + self.length


def rows_of(notes: Sequence[DraftNote], cycle: Cycle, end: Fraction) -> tuple[str, ...]:
    """Return the rows of a line from its first note to ``end``, a cycle in each."""
    rows: list[str] = []
    row = ""
    begin = notes[0].start
    for position, length in _beats(cycle, begin, end):
        within = position % cycle.beats
        if within == 0 and position > begin:
            rows.append(f"{row} ||")
            row = ""
        elif within in cycle.starts and position > begin:
            row += " |"
            if len(row) > LONGEST_ROW:
                rows.append(row)
                row = ""
        row += (" " if row else "") + cell(notes, position, length)
    return (*rows, row)


def statement_of(notes: Sequence[DraftNote], end: Fraction) -> str:
    """Return the cells of a line that has no place in a cycle, in one row."""
    whole = [cell(notes, Fraction(beat), Fraction(1)) for beat in range(int(end))]
    rest = [cell(notes, Fraction(int(end)), end % 1)] if end % 1 else []
    return " ".join([*whole, *rest])


def cell(notes: Sequence[DraftNote], start: Fraction, length: Fraction) -> str:
    """Return the cell of a beat, or of a part of one: ``S``, ``SR``, ``-P``, ``z``, ``S/2``."""
    end = start + length
    here = [note for note in notes if note.start < end and note.end > start]
    edges = {start, *(note.start for note in here), *(note.end for note in here)}
    parts = lcm(*(((edge - start) / length).denominator for edge in edges if start <= edge < end))
    signs: list[str] = []
    for number in range(parts):
        at = start + length * number / parts
        sounding = next((note for note in here if note.start <= at < note.end), None)
        if sounding is None:
            # A rest is struck once, and goes on by a hold.
            signs.append("-" if signs and _silent(here, at - length / parts) else "z")
        else:
            signs.append(show_pitch(sounding.pitch) if sounding.start == at else "-")
    text = "".join(signs)
    return text if length == 1 else f"{text}/{1 / length}"


def _silent(here: Sequence[DraftNote], at: Fraction) -> bool:
    return not any(note.start <= at < note.end for note in here)


def _beats(cycle: Cycle, begin: Fraction, end: Fraction) -> Iterator[tuple[Fraction, Fraction]]:
    """Yield the beats of a cycle from one position to another, short ones at ends of sections."""
    round_ = begin // cycle.beats * cycle.beats
    while round_ < end:
        for _, position, length in cycle.walk():
            at = round_ + position
            # A part of a beat such as 3/4 is written as three cells of a quarter.
            share = Fraction(1, length.denominator)
            for number in range(length.numerator if length < 1 else 1):
                if begin <= at + number * share < end:
                    yield at + number * share, min(length, share if length < 1 else Fraction(1))
        round_ += cycle.beats
