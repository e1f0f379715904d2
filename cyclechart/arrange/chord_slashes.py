"""Chord symbols over slashes: what a player who comps reads of a line of chords.

In a rhythm of the players' own there is a slash for each beat, in a written one a slash with the
value of each strike (E. Gould, Behind Bars, on guitar and rhythm parts; from memory). A symbol
stands where its chord begins and again at the beginning of each cycle, so that bars which are
alike can be written once.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_notes import NO_SPOT, PartNote
from cyclechart.piece.line import Line
from cyclechart.piece.note import Note
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.spelling import Tonic


class ChordSpan(NamedTuple):
    """A chord from ``start`` to ``end`` (beats); ``struck``: in a written rhythm. ``sa``: the Sa
    that it counts from, None for the passage's own; ``origin`` as in ``PartNote``."""

    start: Fraction
    end: Fraction
    note: Note
    struck: bool
    sa: Tonic | None = None
    origin: tuple[int, int] = (-1, -1)

    @property
    def length(self) -> Fraction:
        """Its length in beats."""
        return self.end - self.start


class Beat(NamedTuple):
    """A beat from ``start`` to ``end``; ``opens``: a bar begins with it."""

    start: Fraction
    end: Fraction
    opens: bool


def beats_of_bar(bar: Bar) -> Iterator[Beat]:
    """Yield the beats of a bar; a count-in, which may be shorter than its cycle, has the last."""
    cycle = bar.stretch.cycle
    base = bar.end - cycle.beats if bar.stretch.kind == "count-in" else bar.start
    for _, at, length in cycle.walk():
        start, end = max(base + at, bar.start), min(base + at + length, bar.end)
        if start < end:
            yield Beat(start, end, start == bar.start)


def beats_of_cycles(cycle: Cycle, start: Fraction, end: Fraction) -> Iterator[Beat]:
    """Yield the beats from ``start`` to ``end``, counted from a first beat at 0."""
    base = start // cycle.beats * cycle.beats
    while base < end:
        for _, at, length in cycle.walk():
            if base + at + length > start and base + at < end:
                yield Beat(base + at, base + at + length, not at)
        base += cycle.beats


def chord_slashes(spans: Sequence[ChordSpan], beats: Sequence[Beat]) -> list[PartNote]:
    """Return the slashes of chords in order of time, in these beats."""
    bars = [beat.start for beat in beats if beat.opens]
    starts = [beat.start for beat in beats]
    notes: list[PartNote] = []
    shown: tuple[object, object] = (None, None)
    for span in spans:
        if span.struck:
            bar = bisect_right(bars, span.start)
            again = shown == (bar, span.note.chord)
            shown = bar, span.note.chord
            notes.append(_slash(span, span.start, span.end, shows=not again))
            continue
        first = max(0, bisect_right(starts, span.start) - 1)
        for at in range(first, bisect_left(starts, span.end)):
            beat = beats[at]
            start, end = max(beat.start, span.start), min(beat.end, span.end)
            if start < end:
                shows = start == span.start or (beat.opens and start == beat.start)
                notes.append(_slash(span, start, end, shows=shows))
    return notes


def _slash(span: ChordSpan, start: Fraction, end: Fraction, *, shows: bool) -> PartNote:
    """Return a slash of a chord; it ``shows`` the symbol."""
    note = span.note
    return PartNote(
        start,
        end - start,
        note.spot if span.struck else NO_SPOT,
        syllable="/",
        head="rhythm" if span.struck else "slash",
        under=(),
        marks=note.marks if start == span.start else (),
        chord=note.chord if shows else None,
        text=note.text if start == span.start else "",
        sa=span.sa,
        origin=span.origin,
    )


def line_slashes(line: Line, cycle: Cycle | None) -> tuple[PartNote, ...]:
    """Return the slashes of a line of chords in beats from its first beat; without a cycle, from
    its beginning."""
    shift = Fraction(0) if cycle is None else line.standing(cycle).offset
    struck = line.struck is not None
    spans = [
        ChordSpan(shift + note.start, shift + note.end, note, struck)
        for note in (line.notes if line.struck is None else line.struck)
    ]
    end = shift + line.length
    if cycle is None:
        count = -(-line.length // 1)
        beats = [Beat(Fraction(at), Fraction(at + 1), not at) for at in range(int(count))]
    else:
        beats = list(beats_of_cycles(cycle, shift, end))
    return tuple(chord_slashes(spans, beats))
