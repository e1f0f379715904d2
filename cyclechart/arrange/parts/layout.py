"""The notes and measures of a passage laid down bar after bar, as they are folded."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from cyclechart.arrange.bars import Bar
from cyclechart.arrange.part_notes import Written
from cyclechart.arrange.parts.bar_fragments import Fragment, join
from cyclechart.arrange.parts.repeats import Fold
from cyclechart.arrange.sheet.measures import CLOSING, OPENING, Measure, measures_of


class Layout:
    """The notes and measures of a passage as they are laid down, bar after bar."""

    def __init__(
        self,
        cue: Callable[[int], tuple[Fragment, ...]],
        together: bool,
        bars: Sequence[Bar],
        held: Sequence[tuple[Fragment, ...]],
        first: int,
    ) -> None:
        self.cue = cue
        self.together = together
        self.first = first
        self.bars = bars
        self.held = held
        self.at = Fraction(0)
        self.notes: list[Written] = []
        self.measures: list[Measure] = []
        self.last: Bar | None = None
        self.places: dict[int, Fraction] = {}
        """Where each bar that is written begins, by its index in the passage."""

    def pickup(
        self, held: Sequence[tuple[Fragment, ...]], bars: Sequence[Bar], length: Fraction
    ) -> None:
        """What sounds over the end of the count-in."""
        if not bars or not length:
            return
        cycle = bars[-1].stretch.cycle
        self.measures += measures_of(cycle, -length, Fraction(0), True)
        for bar, fragments in zip(bars, held, strict=True):
            shift = bar.start - bars[-1].end
            join(self.notes, fragments, shift, self.last is not None)
            self.last = bar

    def add(self, one: Fold, time: tuple[Written, ...], jumps: Sequence[str] = ()) -> None:
        """A bar as it is written, with what of a jump stands at it."""
        first = len(self.measures)
        self.bar(one, time)
        for at, side in ((first, OPENING), (-1, CLOSING)):
            said = tuple(jump for jump in jumps if jump in side)
            if said:
                held = self.measures[at]
                self.measures[at] = replace(held, jumps=(*held.jumps, *said))

    def bar(self, one: Fold, time: tuple[Written, ...]) -> None:
        """The measures and notes of a bar, or of cycles of rest."""
        bar = self.bars[one.at]
        self.places[one.at] = self.at
        cycle = bar.stretch.cycle
        alone = one.rests == len(self.bars) and not self.together
        if one.rests > 1 or alone:
            self.rest(bar, one.at, self.bars[one.at : one.at + one.rests])
            return
        fragments = self.held[one.at]
        measures = measures_of(cycle, Fraction(0), bar.length, bar.whole)
        made = [replace(m, start=self.at + m.start, cycle=bar.number) for m in measures]
        made = [replace(m, ending=one.ending) for m in made]
        made[0] = replace(made[0], forward=one.opens)
        made[-1] = replace(made[-1], times=one.times)
        self.measures += made
        if time:
            self.notes += [replace(note, start=self.at + note.start) for note in time]
        else:
            if one.cue:
                fragments = self.cue(self.first + one.at)
            follows = self.last is not None and self.last.end == bar.start
            join(self.notes, fragments, self.at, follows)
        self.at += bar.length
        self.last = bar

    def rest(self, bar: Bar, first: int, silent: Sequence[Bar]) -> None:
        """Cycles of rest in a row from an index on; the last one may be cut off."""
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
            )
        )
        for index, one in enumerate(silent, start=first):
            self.places[index] = self.at
            self.at += one.length
        self.last = None
