"""The lines that a player is given, and the times in which they leave no room for their role."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterable, Iterator, Sequence
from fractions import Fraction

from cyclechart.arrange.timeline import PlacedLine, Timeline
from cyclechart.catalog.roles import LineKind

Span = tuple[Fraction, Fraction]
"""A run of time, from where to where in beats."""
Spans = list[Span]


def lines_of(
    timeline: Timeline, player: str, kinds: Collection[LineKind], *, free: bool = False
) -> Iterator[tuple[int, PlacedLine]]:
    """Yield the lines of some kinds that a player has, with their numbers in the timeline, in order
    of time; those in passages without meter only where ``free`` asks for them."""
    for number, placed in enumerate(timeline.placed_lines):
        theirs = placed.line.kind in kinds and player in placed.players
        # A line that is a pickup alone stands before the passage that it leads to.
        unmetered = placed.line.free and timeline.at(placed.body_start).kind == "free"
        if theirs and (free or not unmetered):
            yield number, placed


def assigned_spans(
    timeline: Timeline, player: str, kinds: Collection[LineKind], *, free: bool = False
) -> Spans:
    """Return from where to where (beats) lines of some kinds keep a player busy, in order and
    without overlaps: a line that enters ends the one before it."""
    entries = lines_of(timeline, player, kinds, free=free)
    return [span for span, _ in in_turn((placed.span, placed) for _, placed in entries)]


def in_turn(entries: Iterable[tuple[Span, PlacedLine]]) -> list[tuple[Span, PlacedLine]]:
    """Return the spans of lines as they are entered, without overlaps: each ends the one before it,
    and takes the place of what would begin later."""
    found: list[tuple[Span, PlacedLine]] = []
    for (start, end), placed in entries:
        while found and found[-1][0][0] >= start:
            found.pop()
        if found and found[-1][0][1] > start:
            (before, _), earlier = found[-1]
            found[-1] = (before, start), earlier
        if end > start:
            found.append(((start, end), placed))
    return found


def is_within(spans: Sequence[Span], time: Fraction) -> bool:
    """Return whether a time lies in one of some spans, which are in order."""
    last = bisect_right(spans, time, key=lambda span: span[0]) - 1
    return last >= 0 and time < spans[last][1]
