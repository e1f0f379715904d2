"""The breaks between systems: where cycles are dealt out to lines, evenly.

Systems break at first beats. A cycle wider than a system breaks at its sections. The fewest systems
are taken, and of all ways to deal the cycles out to these, the one that leaves none much the
fuller, rather at the ends of repeats than within them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate

from cyclechart.arrange.sheet.measures import Measure, within_repeats
from cyclechart.write.engraving.engraver import MARGIN, PAGE_WIDTH

ROOMY = 0.97
"""A system is filled up to so much of its width by what its measures want."""

CLOSER = 1.1
"""A little more is taken where it lets a landing stay with its cycle: the strain is then drawn
smaller, never squeezed."""

IN_REPEAT = 0.02
"""The cost of a break within a repeat: as much as two systems that differ from the mean by a tenth
of a line."""

LONE_LANDING = 1.0
"""The cost of a landing that stands alone on its system."""


def room_of(lead: int, line: int) -> int:
    """Return the width that the measures of a system may have together.

    ``lead``: the width of its clef and signature; ``line``: the length of a system in the
    engraver's units, of which a width has ten each.
    """
    return (line - MARGIN) * 10 - lead


def deal(
    measures: Sequence[Measure], widths: Sequence[int], lead: int, line: int = PAGE_WIDTH
) -> tuple[list[int], float]:
    """Deal measures out to systems: the indices that begin one, and how full the fullest is.

    A section wider than a system overfills it (the figure is then above 1). A landing stands with
    the cycle before it where the two have room.
    """
    room = room_of(lead, line)
    systems: list[list[int]] = []
    run: list[_Cycle] = []
    inside = within_repeats(measures)
    for group in cycles_of(measures):
        width = sum(widths[i] for i in group)
        if width > room * CLOSER:
            systems += [*_even_systems(run, room), *_chunks(group, widths, room)]
            run = []
        else:
            run.append(_Cycle(group, width, inside[group[0]], is_landing(measures, group)))
    systems += _even_systems(run, room)
    breaks = [system[0] for system in systems[1:]]
    return breaks, max(sum(widths[i] for i in system) for system in systems) / room


@dataclass(frozen=True, slots=True)
class _Cycle:
    """A cycle that fits a system. ``inside``: a repeat that began before it goes on in it."""

    measures: list[int]
    width: int
    inside: bool
    landing: bool


def _even_systems(cycles: Sequence[_Cycle], room: float) -> Iterator[list[int]]:
    """Yield the measures of each system, for cycles that fit one each."""
    if not cycles:
        return
    sums = list(accumulate((cycle.width for cycle in cycles), initial=0))
    count = len(cycles)

    def fits(first: int, end: int) -> bool:
        most = CLOSER if cycles[end - 1].landing else ROOMY
        return end - first == 1 or sums[end] - sums[first] <= room * most

    # For each number of cycles: the fewest systems for them.
    fewest = [0] * (count + 1)
    for end in range(1, count + 1):
        first = end - 1
        while first and fits(first - 1, end):
            first -= 1
        fewest[end] = 1 + min(fewest[at] for at in range(first, end))
    mean = sums[count] / fewest[count] / room
    best: list[tuple[float, int]] = [(0.0, 0)] * (count + 1)
    for end in range(1, count + 1):
        # Of two that cost the same, the one with the fuller system first.
        best[end] = min(
            (
                (
                    best[first][0]
                    + ((sums[end] - sums[first]) / room - mean) ** 2
                    + IN_REPEAT * (cycles[first].inside and first > 0)
                    + LONE_LANDING * (cycles[first].landing and first > 0),
                    first,
                )
                for first in range(end)
                if fits(first, end) and fewest[first] + 1 == fewest[end]
            ),
            key=lambda cost: (round(cost[0], 9), -cost[1]),
        )
    starts = []
    end = count
    while end:
        starts.append(best[end][1])
        end = starts[-1]
    starts.reverse()
    for first, end in zip(starts, [*starts[1:], count], strict=True):
        yield [i for cycle in cycles[first:end] for i in cycle.measures]


def _chunks(group: Sequence[int], widths: Sequence[int], room: float) -> list[list[int]]:
    """Return a cycle too wide for a system in as few runs of sections as fit, none much the
    fuller."""
    most = int(room * ROOMY)
    chunks = _run_up(group, widths, most)
    low = sum(widths[i] for i in group) // len(chunks)
    while low < most:
        limit = (low + most) // 2
        tried = _run_up(group, widths, limit)
        if len(tried) == len(chunks):
            chunks, most = tried, limit
        else:
            low = limit + 1
    return chunks


def _run_up(group: Sequence[int], widths: Sequence[int], most: int) -> list[list[int]]:
    """Return runs of at most so wide, each taking what it can."""
    chunks: list[list[int]] = [[]]
    filled = 0
    for i in group:
        if chunks[-1] and filled + widths[i] > most:
            chunks.append([])
            filled = 0
        chunks[-1].append(i)
        filled += widths[i]
    return chunks


def cycles_of(measures: Sequence[Measure]) -> Iterator[list[int]]:
    """Yield the indices of the measures of each cycle; a pickup belongs to the cycle it leads
    into."""
    group: list[int] = []
    for index, measure in enumerate(measures):
        led_in = all(measures[i].start < 0 for i in group)
        if measure.opens and group and not led_in:
            yield group
            group = []
        group.append(index)
    if group:
        yield group


def is_landing(measures: Sequence[Measure], group: Sequence[int]) -> bool:
    """Return whether these are the last measures and less than a whole cycle, a landing."""
    return group[-1] == len(measures) - 1 and not measures[group[-1]].closes
