"""The measures of a strain: one for each section of the cycle; a free line is cut between notes.

Times are exact beats from the first beat of the line's body; a pickup lies before 0.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from cyclechart.piece.line import Line
from cyclechart.theory.cycle import Cycle

FREE_MEASURE = Fraction(8)
"""Beats after which a free line is cut, at the next start of a note."""


OPENING = ("segno", "coda")
CLOSING = ("To Coda", "Fine", "D.S. al Coda", "D.S. al Fine")
"""The signs and words of a jump at the beginning of a measure, and at its end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A section of the cycle on the page.

    ``start`` and ``length`` are beats within the strain; ``cycle`` counts from 1 (0 for a pickup);
    ``beat`` is the beat of the cycle it begins on; ``sign`` is the clap or wave at its start, or
    "". ``opens``: it begins on a first beat. ``closes``: it ends a cycle. ``whole``: it begins and
    ends with its section.

    Repeats and rests of a part: ``forward``: a repeat begins here; ``times``: a repeat ends here
    and is played so many times in all (0 for no repeat); ``ending``: the times in which the measure
    is played, () for every one; ``ends_time``: the step is played again after it, written out;
    ``rests``: the number of cycles of a rest, 0 for no rest; ``jumps``: texts of ``OPENING`` at its
    beginning and of ``CLOSING`` at its end.
    """

    start: Fraction
    length: Fraction
    cycle: int
    beat: Fraction
    sign: str
    opens: bool
    closes: bool
    whole: bool
    forward: bool = False
    times: int = 0
    ending: tuple[int, ...] = ()
    ends_time: bool = False
    rests: int = 0
    jumps: tuple[str, ...] = ()

    @property
    def end(self) -> Fraction:
        """The end, in beats within the strain."""
        return self.start + self.length

    def cut(self, times: Collection[Fraction]) -> Iterator[Measure]:
        """Yield the pieces of the measure, cut at those of the ``times`` that lie inside it."""
        cuts = sorted(time for time in times if self.start < time < self.end)
        for start, end in pairwise([self.start, *cuts, self.end]):
            heads, ends = start == self.start, end == self.end
            yield replace(
                self,
                start=start,
                length=end - start,
                beat=self.beat + start - self.start,
                sign=self.sign if heads else "",
                opens=self.opens and heads,
                closes=self.closes and ends,
                whole=self.whole and heads and ends,
                forward=self.forward and heads,
                times=self.times if ends else 0,
                ends_time=self.ends_time and ends,
                jumps=tuple(
                    jump
                    for jump in self.jumps
                    if (heads and jump in OPENING) or (ends and jump in CLOSING)
                ),
            )


def within_repeats(measures: Iterable[Measure]) -> list[bool]:
    """Return for each measure whether a repeat that began before it goes on in it."""
    found = []
    inside = False
    for measure in measures:
        found.append(inside and not measure.forward)
        inside = (inside or measure.forward) and not measure.times
    return found


def measures_of(cycle: Cycle, begin: Fraction, end: Fraction, pads: bool) -> tuple[Measure, ...]:
    """Return the sections from ``begin`` to ``end`` (beats) as measures.

    With ``pads`` the last measure goes on to the end of its section.
    """
    measures = []
    cuts = _section_starts(cycle, begin)
    at = begin
    nominal, following = next(cuts)
    while at < end:
        stop = following if pads or following <= end else end
        number, beat = cycle.place(at)
        opens = beat == 1
        measures.append(
            Measure(
                start=at,
                length=stop - at,
                cycle=number + 1,
                beat=beat,
                sign=cycle.signs.get(beat - 1, ""),
                opens=opens,
                closes=stop % cycle.beats == 0,
                whole=at == nominal and stop == following,
            )
        )
        at = stop
        nominal, following = next(cuts)
    return tuple(measures)


def _section_starts(cycle: Cycle, begin: Fraction) -> Iterator[tuple[Fraction, Fraction]]:
    """Yield (start, end) of each section, from the one that contains ``begin``, without end."""
    base = begin // cycle.beats * cycle.beats
    while True:
        for start, size in zip(cycle.starts, cycle.sections, strict=True):
            if base + start + size > begin:
                yield base + start, base + start + size
        base += cycle.beats


def free_measures(line: Line) -> tuple[Measure, ...]:
    """Return the measures of a free line, cut at starts of notes."""
    starts = [Fraction(0)]
    for note in line.notes:
        if note.start - starts[-1] >= FREE_MEASURE and line.length - note.start >= 2:
            starts.append(note.start)
    ends = [*starts[1:], line.length]
    return tuple(
        Measure(
            start=start,
            length=end - start,
            cycle=number,
            beat=Fraction(1),
            sign="",
            opens=number == 1,
            closes=False,
            whole=True,
        )
        for number, (start, end) in enumerate(zip(starts, ends, strict=True), start=1)
    )
