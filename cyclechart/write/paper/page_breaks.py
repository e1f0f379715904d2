"""The places between systems where a page may turn, and what a turn there costs the reader."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from cyclechart.arrange.sheet.measures import Measure, within_repeats
from cyclechart.arrange.sheet.model import Strain

TURN_SECONDS = 2
"""The rest that a hand needs to turn a page (common practice; from memory)."""

CUT, WITHIN = 40, 2
"""The cost of a turn that cuts a repeat, an ending or a cadence, and of one within a strain; a page
costs 10, so that further pages are rather taken than a repeat cut."""

HURRIED = 1
"""The cost of a turn without a rest for it."""


@dataclass(frozen=True, slots=True)
class PageBreak:
    """A place where a page may turn: before a system. ``cost``: 0 for the best; ``hurried``: there
    is no rest to turn in; ``cuts``: it lies within a repeat, an ending or a cadence; ``asked``: the
    piece asks for a page there."""

    cost: int = 0
    hurried: bool = False
    cuts: bool = False
    asked: bool = False


def break_within(strain: Strain, at: int, tempo: Fraction) -> PageBreak:
    """Return the break before the measure of an index in a strain.

    ``tempo``: beats a minute there.
    """
    here = strain.measures[at].start
    cuts = _in_repeat(strain.measures, at) or any(
        start < here <= end for start, end in cadence_spans(strain)
    )
    hurried = _seconds(_rest_before(strain, here) + _rest_after(strain, here), tempo) < TURN_SECONDS
    return PageBreak(CUT * cuts + WITHIN + HURRIED * hurried, hurried, cuts)


def break_between(before: Strain, after: Strain, tempo: Fraction) -> PageBreak:
    """Return the break between two strains. ``tempo``: beats a minute where the first ends."""
    cuts = _cadence_goes_on(before, after)
    silence = _rest_before(before, _end(before)) + _rest_after(after, _start(after))
    hurried = _seconds(silence, tempo) < TURN_SECONDS
    asked = after.break_before == "page"
    return PageBreak(CUT * cuts + HURRIED * hurried, hurried, cuts, asked)


def cadence_spans(strain: Strain) -> Iterator[tuple[Fraction, Fraction]]:
    """Yield from where to where the statements of each cadence of a strain are played."""
    start = end = None
    last = -1
    for bracket in strain.brackets:
        if bracket.kind != "statement":
            continue
        first_note, last_note = strain.notes[bracket.first], strain.notes[bracket.last]
        if end is not None and start is not None and bracket.first > last + 1:
            yield start, end
            start = None
        start = first_note.start if start is None else start
        end, last = last_note.start, max(last, bracket.last)
    if start is not None and end is not None:
        yield start, end


def _in_repeat(measures: Sequence[Measure], at: int) -> bool:
    """Return whether a break before a measure lies within a repeat or between its endings."""
    if measures[at].ending and measures[at - 1].ending:
        return True
    return within_repeats(measures[: at + 1])[at]


def _cadence_goes_on(before: Strain, after: Strain) -> bool:
    """Return whether a cadence begins in one strain and goes on in the next."""
    ends = any(
        bracket.kind == "statement" and bracket.last == len(before.notes) - 1
        for bracket in before.brackets
    )
    return ends and any(
        bracket.kind == "statement" and bracket.first == 0 for bracket in after.brackets
    )


def _rest_before(strain: Strain, time: Fraction) -> Fraction:
    """Return the beats of silence just before a time in a strain."""
    ends = [note.start + note.length for note in strain.notes if note.start < time]
    return max(Fraction(0), time - max(ends, default=_start(strain)))


def _rest_after(strain: Strain, time: Fraction) -> Fraction:
    """Return the beats of silence from a time in a strain on."""
    starts = [note.start for note in strain.notes if note.start >= time]
    return min(starts, default=max(time, _end(strain))) - time


def _start(strain: Strain) -> Fraction:
    return strain.measures[0].start if strain.measures else Fraction(0)


def _end(strain: Strain) -> Fraction:
    return strain.measures[-1].end if strain.measures else Fraction(0)


def _seconds(beats: Fraction, tempo: Fraction) -> Fraction:
    return beats * 60 / tempo
