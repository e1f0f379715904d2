"""How the time inside one measure is spelled in note values; a beat (matra) is a quarter note.

Times are whole ticks, so many a beat. Nothing is known of cells and groups here: tuplets are found
from where notes and rests begin and end, so that the same music is always written the same way.
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
from cyclechart.write.musicxml.tuplets import Region, Tuplet, regions_of


class WrittenValue(NamedTuple):
    """One written note or rest.

    ``start`` and ``length`` in ticks within the measure; ``span`` is the index of the note or rest
    it belongs to; ``type`` is MusicXML's name of the value, or "" for a silent measure.
    ``from_tie`` and ``to_tie``: a note tied to the piece before and after it in the same span.
    ``beams``: from the first beam on, MusicXML's word for what it does here.
    """

    # A named tuple, for there are many, and their hashes are asked for: a frozen dataclass takes
    # four times as long to make.
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
"""A piece before its beams and ties: start, length, span, type, dots, tuplet."""


@lru_cache(maxsize=16384)
def spell_measure(
    beat: int,
    length: int,
    lead: int,
    bounds: tuple[int, ...],
    rests: tuple[bool, ...],
    whole_rest: bool = True,
) -> tuple[WrittenValue, ...]:
    """The written notes and rests of a measure, in order; their lengths add up to ``length``.

    ``beat`` is the ticks in a beat; ``lead`` those before the first beat line (0 if the measure
    begins on one). ``bounds`` runs from 0 to ``length``, strictly upward: span i is from bound i to
    bound i + 1, and silent if ``rests[i]``. A silent measure is one measure rest, or is spelled
    like any other where ``whole_rest`` is false. Raises ValueError for bounds that do not.
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
    pieces: list[WrittenValue] = []
    first = span = 0
    # No note crosses a beat line that is struck: what lies between two such is spelled alone.
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
        )
        if start or span:
            run = tuple([WrittenValue(p[0] + start, p[1], p[2] + span, *p[3:]) for p in run])
        pieces += run
        first, span = last, until
    return tuple(pieces)


@lru_cache(maxsize=16384)
def _spell_run(
    beat: int,
    lead: int,
    lines: tuple[int, ...],
    bounds: tuple[int, ...],
    rests: tuple[bool, ...],
) -> tuple[WrittenValue, ...]:
    """A run of beats, from one struck beat line to the next."""
    parts: list[_BareValue] = []
    groups: list[object] = []
    tuplets: list[Tuplet | None] = []
    edges: list[tuple[bool, bool]] = []
    for region in regions_of(beat, lines, bounds):
        made = list(_spell_region(region, beat, lead, lines, bounds, rests))
        last = len(made) - 1
        shown = region.tuplet is not None
        edges += [(shown and at == 0, shown and at == last) for at in range(last + 1)]
        tuplets += [region.tuplet or part[5] for part in made]
        groups += _beam_groups(region, made, beat, lines, rests)
        parts += made
    beams = _beams_of(parts, groups, rests)
    _drop_brackets(tuplets, edges, beams)
    spans = [part[2] for part in parts]
    tied = [(not rests[two]) and one == two for one, two in pairwise([-1, *spans])]
    return tuple(
        WrittenValue(*part[:5], tuplet, *edge, *ties, word)
        for part, tuplet, edge, ties, word in zip(
            parts, tuplets, edges, pairwise([*tied, False]), beams, strict=True
        )
    )


def _spell_region(
    region: Region,
    beat: int,
    lead: int,
    lines: Sequence[int],
    bounds: Sequence[int],
    rests: Sequence[bool],
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
            for value in in_values(region.written(end, beat) - region.written(start, beat)):
                ticks = value.size * tuplet.normal * beat // (tuplet.actual * IN_QUARTER)
                yield at, ticks, span, value.type, value.dots, tuplet
                at += ticks
        else:
            for at, value in _plain_values(start, end, beat, lead, lines, rest):
                ticks = value.size * beat // IN_QUARTER
                yield at, ticks, span, value.type, value.dots, None


def _unwritable_value(start: int, end: int, span: int, beat: int) -> _BareValue:
    """A note past the finest value, or in a ratio that no value fits: the next longer value, its
    exact time kept as a ratio of its own."""
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
    start: int, end: int, beat: int, lead: int, lines: Sequence[int], rest: bool
) -> Iterator[tuple[int, Value]]:
    """The values of a note in plain beats: long from a beat line, else cut at the next one."""
    at = start
    while at < end:
        number = bisect_right(lines, at)
        before, line = lines[number - 1], lines[number]
        if number == 1 and lead:
            before = line - beat
        if at == before and end - at >= beat:
            halves = (end - at) * 2 // beat
            value = value_of(
                _first_size(halves, 2 * (end - at) == 3 * beat, rest) * IN_QUARTER // 2
            )
            yield at, value
            at += value.size * beat // IN_QUARTER
            continue
        first, last = ((tick - before) * IN_QUARTER // beat for tick in (at, min(end, line)))
        for value in _values_in_beat(first, last):
            yield at, value
            at += value.size * beat // IN_QUARTER


def _first_size(halves: int, exact: bool, rest: bool) -> int:
    """The longest plain value, in half beats, that a note of so many half beats begins with."""
    if exact and not rest:
        return 3
    for size in (8, 4) if rest else (8, 6, 4):
        if size <= halves:
            return size
    return 2


def _values_in_beat(start: int, end: int) -> tuple[Value, ...]:
    """A note inside a beat: one value where it sits well, else cut at the strongest point."""
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
    """The point strictly between that is a multiple of the greatest power of two, if any."""
    step = IN_QUARTER
    while step:
        point = (start // step + 1) * step
        if point < end:
            return point
        step //= 2
    return None


def _beam_groups(
    region: Region,
    parts: Sequence[_BareValue],
    beat: int,
    lines: Sequence[int],
    rests: Sequence[bool],
) -> list[object]:
    """What each is beamed with: its beat; in a tuplet over beat lines the whole tuplet, or its
    written quarters where its unit is that long.

    No beam crosses the edge of a tuplet that is not all under it.
    """
    if region.tuplet is None:
        return [bisect_right(lines, part[0]) for part in parts]
    if not region.crosses:
        beamed = all(FLAGS[part[3]] and not rests[part[2]] for part in parts)
        one: object = bisect_right(lines, region.start) if beamed else (region.start, 0)
        return [one] * len(parts)
    if FLAGS[region.tuplet.unit]:
        return [(region.start, 0)] * len(parts)
    written = [region.written(part[0] - region.start, beat) for part in parts]
    return [(region.start, at // IN_QUARTER) for at in written]


def _beams_of(
    parts: Sequence[_BareValue], groups: Sequence[object], rests: Sequence[bool]
) -> list[tuple[str, ...]]:
    """The beams of each: over notes with flags that follow each other in one group."""
    beams: list[tuple[str, ...]] = []
    flags = [0 if rests[part[2]] else FLAGS[part[3]] for part in parts]
    keys = [(group, flag > 0) for group, flag in zip(groups, flags, strict=True)]
    for (_, flagged), run in groupby(zip(keys, flags, strict=True), lambda item: item[0]):
        held = tuple([flag for _, flag in run])
        beams += beam_levels(held) if flagged and len(held) > 1 else [()] * len(held)
    return beams


def _drop_brackets(
    tuplets: list[Tuplet | None],
    edges: Sequence[tuple[bool, bool]],
    beams: Sequence[tuple[str, ...]],
) -> None:
    """No bracket over a tuplet where one beam has all its notes and no other."""
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
