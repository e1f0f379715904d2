"""The notes and rests of each measure, in whole ticks."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from cyclechart.arrange.sheet.measures import Measure
from cyclechart.arrange.sheet.model import Strain
from cyclechart.write.musicxml.rests import NO_SECTION, Section


@dataclass(frozen=True, slots=True)
class MeasureContent:
    """The notes and rests of a measure, in ticks from its beginning.

    ``length``: the ticks of the measure; ``lead``: those before its first beat line. ``bounds``:
    where the notes and rests begin and end, from 0 to ``length``; ``rests``: true for each that is
    a rest; ``indices``: the index of each note in its strain, −1 for a rest. ``held_in``: the first
    note began in an earlier measure; ``held_out``: the last one goes on in a later measure.
    """

    length: int
    lead: int
    bounds: tuple[int, ...]
    rests: tuple[bool, ...]
    indices: tuple[int, ...]
    held_in: bool
    held_out: bool
    section: Section = NO_SECTION
    """The section that the measure stands in."""


def silent_content(length: int, beats: int) -> MeasureContent:
    """Return the content of a section, or a part of one from its start, that is silent."""
    bounds, section = (0, length), Section(0, beats)
    return MeasureContent(length, 0, bounds, (True,), (-1,), False, False, section)


def ticks_per_beat(strains: Iterable[Strain]) -> int:
    """Return the fewest ticks a beat on which every note and measure of the strains is exact."""
    return math.lcm(*(strain.ticks for strain in strains))


def measure_contents(strain: Strain, beat: int) -> Iterator[MeasureContent]:
    """Yield the content of each measure of a strain, at ``beat`` ticks a beat.

    Beats are counted from the section's start, also where a measure begins inside one.
    """
    sounding = _sounding_times(strain, beat)
    leads: dict[tuple[int, int], int] = {}
    sections: dict[tuple[int, int], Section] = {}
    first = 0
    for measure in strain.measures:
        start, length = _ticks(measure.start, beat), _ticks(measure.length, beat)
        place = measure.beat.as_integer_ratio()
        if place not in leads:
            leads[place] = _lead(strain, measure, beat)
            sections[place] = _section(strain, measure, beat)
        while first < len(sounding) and sounding[first][1] <= start:
            first += 1
        bounds, indices = _bounds(sounding, first, start, length)
        yield MeasureContent(
            length,
            min(leads[place], length) % beat,
            tuple(bounds),
            tuple([index < 0 for index in indices]),
            tuple(indices),
            indices[0] >= 0 and sounding[indices[0]][0] < start,
            indices[-1] >= 0 and sounding[indices[-1]][1] > start + length,
            sections[place],
        )


def _lead(strain: Strain, measure: Measure, beat: int) -> int:
    """Return the ticks from a measure's beginning to the next beat of its section."""
    if strain.free:
        return 0
    return _ticks(-_place_in_section(strain, measure)[0] % 1, beat)


def _section(strain: Strain, measure: Measure, beat: int) -> Section:
    """Return the section that a measure stands in."""
    if strain.free:
        return NO_SECTION
    into_section, length = _place_in_section(strain, measure)
    return Section(_ticks(into_section, beat), int(length))


def _place_in_section(strain: Strain, measure: Measure) -> tuple[Fraction, Fraction]:
    """Return the beats from the start of its section to a measure, and those of the section."""
    offset, cycle = measure.beat - 1, strain.cycle
    at = bisect_right(cycle.starts, offset) - 1
    return offset - cycle.starts[at], cycle.sections[at]


def _bounds(
    sounding: list[tuple[int, int]], first: int, start: int, length: int
) -> tuple[list[int], list[int]]:
    """Return the bounds of the notes and rests in a measure, and the index of each note.

    ``sounding``: the beginning and end of every note; ``first``: the first note that may sound in
    the measure.
    """
    bounds: list[int] = [0]
    indices: list[int] = []
    at = first
    while at < len(sounding) and sounding[at][0] < start + length:
        begin = max(sounding[at][0] - start, bounds[-1])
        end = min(sounding[at][1] - start, length)
        if begin > bounds[-1]:
            bounds.append(begin)
            indices.append(-1)
        if end > begin:
            bounds.append(end)
            indices.append(at)
        at += 1
    if bounds[-1] < length:
        bounds.append(length)
        indices.append(-1)
    return bounds, indices


def _sounding_times(strain: Strain, beat: int) -> list[tuple[int, int]]:
    """Return the beginning and end of each note, in ticks from the strain's beginning."""
    times = []
    for note in strain.notes:
        start, length = note.start, note.length
        begin = start.numerator * (beat // start.denominator)
        times.append((begin, begin + length.numerator * (beat // length.denominator)))
    return times


def _ticks(time: Fraction, beat: int) -> int:
    return time.numerator * (beat // time.denominator)
