"""Builds the notes and measures of a passage from its written bars."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.parts.bar_fragments import Fragment, join_fragments
from cyclechart.arrange.parts.repeats import WrittenBar
from cyclechart.arrange.sheet.measures import CLOSING, OPENING, Measure, measures_of


class PassageBuilder:
    """Collects the notes and measures of a passage, bar by bar.

    ``cue`` returns the cue for a bar by its index among all bars; ``together``: the passage is part
    of a score; ``sections`` and ``fragments``: the measures and the player's notes of each of the
    ``bars``, counted from its start; ``first``: the index of the first of the bars among all.
    """

    def __init__(
        self,
        cue: Callable[[int], tuple[Fragment, ...]],
        together: bool,
        bars: Sequence[Bar],
        sections: Sequence[tuple[Measure, ...]],
        fragments: Sequence[tuple[Fragment, ...]],
        first: int,
    ) -> None:
        self.cue = cue
        self.together = together
        self.first = first
        self.bars = bars
        self.sections = sections
        self.fragments = fragments
        self.at = Fraction(0)
        self.notes: list[PartNote] = []
        self.measures: list[Measure] = []
        self.last: Bar | None = None
        self.places: dict[int, Fraction] = {}
        """The start of each written bar in beats, by its index in the passage."""

    def add_pickup(
        self,
        fragments_by_bar: Sequence[tuple[Fragment, ...]],
        bars: Sequence[Bar],
        length: Fraction,
    ) -> None:
        """Add the notes that sound over the last ``length`` beats of the count-in."""
        if not bars or not length:
            return
        cycle = bars[-1].stretch.cycle
        self.measures += measures_of(cycle, -length, Fraction(0), True)
        for bar, fragments in zip(bars, fragments_by_bar, strict=True):
            shift = bar.start - bars[-1].end
            join_fragments(self.notes, fragments, shift, self.last is not None)
            self.last = bar

    def add(
        self, written: WrittenBar, groove: tuple[PartNote, ...], jumps: Sequence[str] = ()
    ) -> None:
        """Add a written bar with the marks of a jump; a ``groove`` replaces its notes."""
        first = len(self.measures)
        self._add_measures(written, groove)
        for at, side in ((first, OPENING), (-1, CLOSING)):
            side_jumps = tuple(jump for jump in jumps if jump in side)
            if side_jumps:
                measure = self.measures[at]
                self.measures[at] = replace(measure, jumps=(*measure.jumps, *side_jumps))

    def _add_measures(self, written: WrittenBar, groove: tuple[PartNote, ...]) -> None:
        """Add the measures and notes of a bar, or the measure of several cycles of rest."""
        bar = self.bars[written.at]
        self.places[written.at] = self.at
        fragments = self.fragments[written.at]
        alone = written.rests == len(self.bars) and not self.together
        empty = not (fragments or groove or written.cue or self.together)
        if written.rests > 1 or alone or (empty and bar.number and bar.whole):
            count = max(1, written.rests)
            self._add_rest(bar, written, self.bars[written.at : written.at + count])
            return
        self.measures += self._measures_of(bar.number, written)
        if groove:
            self.notes += [replace(note, start=self.at + note.start) for note in groove]
        else:
            if written.cue:
                fragments = self.cue(self.first + written.at)
            follows = self.last is not None and self.last.end == bar.start
            join_fragments(self.notes, fragments, self.at, follows)
        self.at += bar.length
        self.last = bar

    def _measures_of(self, cycle: int, written: WrittenBar) -> Iterator[Measure]:
        """Yield the measures of a bar, the cycle of this number, where it is written."""
        sections = self.sections[written.at]
        for number, measure in enumerate(sections, start=1):
            yield replace(
                measure,
                start=self.at + measure.start,
                cycle=cycle,
                ending=written.ending,
                forward=written.repeat_start and number == 1,
                times=written.times if number == len(sections) else 0,
                ends_time=written.ends_time and number == len(sections),
            )

    def _add_rest(self, bar: Bar, written: WrittenBar, silent: Sequence[Bar]) -> None:
        """Add one measure for cycles of rest; the last cycle may be cut off."""
        length = silent[-1].end - silent[0].start
        beat, count = Fraction(1), len(silent)
        self.measures.append(
            Measure(
                start=self.at,
                length=length,
                cycle=bar.number,
                beat=beat,
                sign="",
                opens=True,
                closes=True,
                whole=True,
                rests=count,
                ending=written.ending,
                forward=written.repeat_start,
                times=written.times,
                ends_time=written.ends_time,
            )
        )
        for index, silent_bar in enumerate(silent, start=written.at):
            self.places[index] = self.at
            self.at += silent_bar.length
        self.last = None
