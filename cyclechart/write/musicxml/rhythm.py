"""The note values that spell the notes and rests of a measure; a beat (matra) is a quarter note.

Times are whole ticks, ``beat`` of them in a beat. Cells and groups play no part here: tuplets
follow from the beginnings and ends of notes and rests alone, so that the same music is always
written the same way.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import groupby, pairwise
from typing import NamedTuple

from cyclechart.write.musicxml.note_values import (
    FLAGS,
    IN_QUARTER,
    Value,
    beam_levels,
    in_values,
    value_of,
)
from cyclechart.write.musicxml.rests import NO_SECTION, Section, rest_values
from cyclechart.write.musicxml.tuplets import Region, Tuplet, regions_of


class WrittenValue(NamedTuple):
    """One written note or rest: a note value in a measure.

    ``start`` and ``length``: ticks within the measure; ``span``: the index of the note or rest it
    belongs to; ``type``: MusicXML's name of the value, or "" for a silent measure. ``opens`` and
    ``closes``: it is the first or last value of its tuplet. ``from_tie`` and ``to_tie``: it is tied
    to the value before or after it in the same span. ``beams``: MusicXML's word for each beam, the
    first beam first.
    """

    # A named tuple: there are many, all of them hashed, and a frozen dataclass takes four times as
    # long to build.
    start: int
    length: int
    span: int
    type: str
    dots: int = 0
    tuplet: Tuplet | None = None
    opens: bool = False
    closes: bool = False
    from_tie: bool = False
    to_tie: bool = False
    beams: tuple[str, ...] = ()


_BareValue = tuple[int, int, int, str, int, Tuplet | None]
"""A written value before its beams and ties: start, length, span, type, dots, tuplet."""


@lru_cache(maxsize=16384)
def spell_measure(
    beat: int,
    length: int,
    lead: int,
    bounds: tuple[int, ...],
    rests: tuple[bool, ...],
    whole_rest: bool = True,
    section: Section = NO_SECTION,
) -> tuple[WrittenValue, ...]:
    """Return the written notes and rests of a measure, in order; they fill it.

    Args:
        beat: The ticks in a beat.
        length: The ticks in the measure.
        lead: The ticks before the first beat line, 0 if the measure begins on one.
        bounds: The bounds of the spans, rising from 0 to ``length``: span i is from bound i to
            bound i + 1.
        rests: True for each span that is silent.
        whole_rest: A silent measure is one measure rest; if false it is spelled like any other.
        section: The section that the measure stands in, by which rests are divided.

    Raises:
        ValueError: The bounds do not fill the measure.
    """
    if not (
        len(bounds) == len(rests) + 1
        and (bounds[0], bounds[-1]) == (0, length)
        and all(one < two for one, two in pairwise(bounds))
    ):
        raise ValueError(f"bounds {bounds} do not fill a measure of {length} ticks")
    if whole_rest and rests == (True,):
        return (WrittenValue(0, length, 0, ""),)
    lines = [0, *range(lead or beat, length, beat), length]
    values: list[WrittenValue] = []
    first = span = 0
    # A beat line on which a note begins is crossed by none: the run between two is spelled alone.
    for last in range(1, len(lines)):
        until = bisect_left(bounds, lines[last], span)
        if bounds[until] != lines[last]:
            continue
        start = lines[first]
        run = _spell_run(
            beat,
            lead if first == 0 else 0,
            tuple([line - start for line in lines[first : last + 1]]),
            tuple([bound - start for bound in bounds[span : until + 1]]),
            rests[span:until],
            Section(section.offset + start, section.beats) if any(rests[span:until]) else None,
        )
        if start or span:
            run = tuple([WrittenValue(v[0] + start, v[1], v[2] + span, *v[3:]) for v in run])
        values += run
        first, span = last, until
    return tuple(values)


@lru_cache(maxsize=16384)
def _spell_run(
    beat: int,
    lead: int,
    lines: tuple[int, ...],
    bounds: tuple[int, ...],
    rests: tuple[bool, ...],
    section: Section | None,
) -> tuple[WrittenValue, ...]:
    """Return the written values of a run of beats, from one struck beat line to the next.

    ``section``: the section, counted from the run's beginning; None where nothing rests.
    """
    values: list[_BareValue] = []
    groups: list[object] = []
    tuplets: list[Tuplet | None] = []
    edges: list[tuple[bool, bool]] = []
    for region in regions_of(beat, lines, bounds):
        spelled = list(_spell_region(region, beat, lead, lines, bounds, rests, section))
        last = len(spelled) - 1
        shown = region.tuplet is not None
        edges += [(shown and at == 0, shown and at == last) for at in range(last + 1)]
        tuplets += [region.tuplet or value[5] for value in spelled]
        groups += _beam_groups(region, spelled, beat, lines, rests)
        values += spelled
    beams = _beams_of(values, groups, rests)
    _drop_brackets(tuplets, edges, beams)
    spans = [value[2] for value in values]
    tied = [(not rests[two]) and one == two for one, two in pairwise([-1, *spans])]
    return tuple(
        WrittenValue(*value[:5], tuplet, *edge, *ties, word)
        for value, tuplet, edge, ties, word in zip(
            values, tuplets, edges, pairwise([*tied, False]), beams, strict=True
        )
    )


def _spell_region(
    region: Region,
    beat: int,
    lead: int,
    lines: Sequence[int],
    bounds: Sequence[int],
    rests: Sequence[bool],
    section: Section | None,
) -> Iterator[_BareValue]:
    tuplet = region.tuplet
    for span, rest in enumerate(rests):
        start, end = max(bounds[span], region.start), min(bounds[span + 1], region.end)
        if start >= end:
            continue
        if region.fine:
            yield _unwritable_value(start, end, span, beat)
        elif tuplet:
            at = start
            length = region.written_length(end, beat) - region.written_length(start, beat)
            place = region.written_length(start - region.start, beat)
            for value in rest_values(place, length) if rest else in_values(length):
                ticks = value.size * tuplet.normal * beat // (tuplet.actual * IN_QUARTER)
                yield at, ticks, span, value.type, value.dots, tuplet
                at += ticks
        else:
            plain = _plain_values(start, end, beat, lead, lines, section if rest else None)
            for at, value in plain:
                ticks = value.size * beat // IN_QUARTER
                yield at, ticks, span, value.type, value.dots, None


def _unwritable_value(start: int, end: int, span: int, beat: int) -> _BareValue:
    """Return a note finer than any value, or in a ratio that no value fits.

    It is written as the next longer value, with its exact time as a ratio of its own.
    """
    time = Fraction(end - start, beat) * IN_QUARTER
    size = 1
    while size < time:
        size *= 2
    value = value_of(size)
    ratio = size / time
    tuplet = None
    if ratio != 1:
        tuplet = Tuplet(ratio.numerator, ratio.denominator, value.type, False, shown=False)
    return start, end - start, span, value.type, 0, tuplet


def _plain_values(
    start: int, end: int, beat: int, lead: int, lines: Sequence[int], section: Section | None
) -> Iterator[tuple[int, Value]]:
    """Yield the values of a note in plain beats, each with its start.

    From a beat line a value may be long; elsewhere it is cut at the next beat line. ``section``: it
    is a rest, divided by the beats of this section; None for a note.
    """
    at = start
    while at < end:
        number = bisect_right(lines, at)
        before, line = lines[number - 1], lines[number]
        # A first part of a beat that no values fill is counted from its own beginning.
        if number == 1 and lead * IN_QUARTER % beat == 0 < lead:
            before = line - beat
        if at == before and end - at >= beat:
            if section is not None:
                size = IN_QUARTER * section.rest_beats(at, end, beat)
            else:
                halves = (end - at) * 2 // beat
                size = _first_size(halves, 2 * (end - at) == 3 * beat) * IN_QUARTER // 2
            value = value_of(size)
            yield at, value
            at += value.size * beat // IN_QUARTER
            continue
        first, last = ((tick - before) * IN_QUARTER // beat for tick in (at, min(end, line)))
        if first >= last:
            raise ValueError(f"no value is as short as {min(end, line) - at} of {beat} ticks")
        values = _values_in_beat(first, last)
        for value in values if section is None else rest_values(first, last - first):
            yield at, value
            at += value.size * beat // IN_QUARTER


def _first_size(halves: int, exact: bool) -> int:
    """Return the longest plain value, in half beats, that a note of so many half beats begins with.

    ``exact``: the note is a dotted beat long.
    """
    if exact:
        return 3
    for size in (8, 6, 4):
        if size <= halves:
            return size
    return 2


def _values_in_beat(start: int, end: int) -> tuple[Value, ...]:
    """Return the values of a note inside a beat: one where it sits well, else cut at the strongest
    point."""
    size = end - start
    whole = in_values(size)
    if len(whole) == 1:
        base = size * 2 // 3 if whole[0].dots else size
        if start % max(base // 2, 1) == 0:
            return whole
    point = _strongest_point(start, end)
    if point is None:
        return whole
    return _values_in_beat(start, point) + _values_in_beat(point, end)


def _strongest_point(start: int, end: int) -> int | None:
    """Return the point strictly between that is a multiple of the greatest power of two, if any."""
    step = IN_QUARTER
    while step:
        point = (start // step + 1) * step
        if point < end:
            return point
        step //= 2
    return None


def _beam_groups(
    region: Region,
    values: Sequence[_BareValue],
    beat: int,
    lines: Sequence[int],
    rests: Sequence[bool],
) -> list[object]:
    """Return the group in which each value is beamed.

    The group is its beat; in a tuplet over beat lines the whole tuplet, or its written quarter
    where the unit of the tuplet is that long. A beam crosses the edge of a tuplet only where all
    values of the tuplet are under it.
    """
    if region.tuplet is None:
        return [bisect_right(lines, value[0]) for value in values]
    if not region.crosses:
        beamed = all(FLAGS[value[3]] and not rests[value[2]] for value in values)
        group: object = bisect_right(lines, region.start) if beamed else (region.start, 0)
        return [group] * len(values)
    if FLAGS[region.tuplet.unit]:
        return [(region.start, 0)] * len(values)
    written = [region.written_length(value[0] - region.start, beat) for value in values]
    return [(region.start, at // IN_QUARTER) for at in written]


def _beams_of(
    values: Sequence[_BareValue], groups: Sequence[object], rests: Sequence[bool]
) -> list[tuple[str, ...]]:
    """Return the beams of each value. They join adjacent notes with flags in one group."""
    beams: list[tuple[str, ...]] = []
    flags = [0 if rests[value[2]] else FLAGS[value[3]] for value in values]
    keys = [(group, flag > 0) for group, flag in zip(groups, flags, strict=True)]
    for (_, flagged), run in groupby(zip(keys, flags, strict=True), lambda item: item[0]):
        joined = tuple([flag for _, flag in run])
        beams += beam_levels(joined) if flagged and len(joined) > 1 else [()] * len(joined)
    return beams


def _drop_brackets(
    tuplets: list[Tuplet | None],
    edges: Sequence[tuple[bool, bool]],
    beams: Sequence[tuple[str, ...]],
) -> None:
    """Drop the bracket of each tuplet that has a beam over exactly its notes."""
    first = 0
    for number, ((opens, closes), tuplet) in enumerate(zip(edges, tuplets, strict=True)):
        if opens:
            first = number
        if not closes or tuplet is None or number == first:
            continue
        words = [word[:1] for word in beams[first : number + 1]]
        if (words[0], words[-1]) == (("begin",), ("end",)) and all(
            word == ("continue",) for word in words[1:-1]
        ):
            tuplets[first : number + 1] = [tuplet._replace(bracket=False)] * len(words)
