"""The tuplets of a run of beats, found from the beginnings and ends of its notes alone.

A run reaches from one struck beat line to the next. It is cut into regions, each plain or one flat
tuplet, in the way that is easiest to read: few notes, few ties, few dots in tuplets.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from cyclechart.write.musicxml.note_values import IN_QUARTER, in_values, value_of

MAX_WIDE = 8
"""The most beats that a tuplet spans."""

MAX_POINTS = 48
"""A run with more places where a tuplet might begin is spelled beat by beat."""

MAX_UNEVEN = 99
"""The greatest number of a tuplet that is not mostly of its own units: nobody counts 945 of which
few are struck, written as breves in a beat."""

MAX_IN_PART = 15
"""The greatest number of a tuplet in a part of a beat that no power of two divides it into: what is
left of one beside a cut is no place for a greater one."""

# The costs to a reader: of a note; of a note in a tuplet that hides beat lines under notes of
# unlike values; of a beat through which a long note is held; and of a beat that no value fits.
_NOTE, _NOTE_IN_WIDE, _HELD_BEAT, _MISFIT = 3, 4, 1, 10_000


class Tuplet(NamedTuple):
    """A tuplet: ``actual`` notes in the time of ``normal``, counted in ``unit`` values.

    ``bracket``: it has a bracket. ``shown``: its beginning and end are marked; they are not where
    it only keeps the exact time of a note too fine to be written.
    """

    actual: int
    normal: int
    unit: str
    bracket: bool
    shown: bool = True


@dataclass(frozen=True, slots=True)
class Region:
    """A stretch of a run that is written in one way, in ticks: plain, or in one tuplet.

    ``fine``: its notes are finer than any value; ``crosses``: it hides a beat line.
    """

    start: int
    end: int
    tuplet: Tuplet | None = None
    fine: bool = False
    crosses: bool = False

    @property
    def plain(self) -> bool:
        """True if it is written in plain values."""
        return self.tuplet is None and not self.fine

    def written_length(self, ticks: int, beat: int) -> int:
        """Return the written length, in ``IN_QUARTER``, of so many ticks of sounding time."""
        if self.tuplet is None:
            return ticks * IN_QUARTER // beat
        return ticks * IN_QUARTER * self.tuplet.actual // (self.tuplet.normal * beat)


def regions_of(beat: int, lines: Sequence[int], bounds: Sequence[int]) -> list[Region]:
    """Return the regions of a run, with adjoining plain regions joined.

    ``beat``: the ticks in a beat; ``lines``: the beat lines of the run; ``bounds``: the beginnings
    and ends of its notes and rests. Both go from 0 to the end of the run.
    """
    units = [math.gcd(beat, *_inner_bounds(*ends, bounds)) for ends in pairwise(lines)]
    if all(_odd_divisor(beat // unit) == 1 and beat // unit <= IN_QUARTER for unit in units):
        return [Region(0, lines[-1])]
    joined: list[Region] = []
    for region in _cheapest(beat, lines, bounds):
        if joined and region.plain and joined[-1].plain:
            joined[-1] = replace(joined[-1], end=region.end)
        else:
            joined.append(region)
    return joined


def _cheapest(beat: int, lines: Sequence[int], bounds: Sequence[int]) -> list[Region]:
    """Return the cheapest regions from the beginning of a run to its end."""
    points = _points(beat, lines, bounds)
    reach = len(points)
    if reach > MAX_POINTS:
        points, reach = list(lines), 1
    best: list[tuple[int, list[Region]]] = [(0, [])]
    for end in range(1, len(points)):
        options = []
        # The widest first: of equal costs the first is taken.
        for start in range(max(0, end - reach), end):
            region = _region_between(beat, points[start], points[end], lines, bounds)
            if region is not None:
                cost = best[start][0] + _cost(region, beat, lines, bounds)
                options.append((cost, [*best[start][1], region]))
        if options:
            best.append(min(options, key=lambda option: option[0]))
        else:
            best.append((_MISFIT * _MISFIT, []))
    return best[-1][1]


def _points(beat: int, lines: Sequence[int], bounds: Sequence[int]) -> list[int]:
    """Return the points at which a region may begin.

    These are the beat lines, and the notes at halves, quarters … of a beat.
    """
    points = set(lines)
    for start, end in pairwise(lines):
        for bound in bounds:
            if start < bound < end and _odd_divisor(beat // math.gcd(beat, bound - start)) == 1:
                points.add(bound)
    return sorted(points)


def _region_between(
    beat: int, start: int, end: int, lines: Sequence[int], bounds: Sequence[int]
) -> Region | None:
    """Return the region from point to point, or None where it would be hard to read."""
    hidden = [line for line in lines if start < line < end]
    inner = _inner_bounds(start, end, bounds)
    unit = math.gcd(*inner)
    odd = _odd_divisor(beat // math.gcd(beat, unit))
    if odd == 1:
        fine = beat // math.gcd(beat, unit) > IN_QUARTER
        if hidden or (fine and not _is_beat(start, end, lines)):
            return None
        return Region(start, end, fine=fine)
    if end - start > MAX_WIDE * beat:
        return None
    if not hidden:
        tuplet = _tuplet(beat, end - start, unit, 1, len(inner), _is_beat(start, end, lines))
        if tuplet is None:
            return Region(start, end, fine=True) if _is_beat(start, end, lines) else None
        return Region(start, end, tuplet)
    # No tuplet over beat lines may mix unlike ones (thirds and fifths).
    parts = [_odd_part(beat, *ends, bounds) for ends in pairwise([start, *hidden, end])]
    factor = _odd_divisor(unit // math.gcd(beat, unit))
    if max(parts) != odd or factor >= odd:
        return None
    tuplet = _tuplet(beat, end - start, unit, factor, 0, False)
    return Region(start, end, tuplet, crosses=True) if tuplet else None


@lru_cache(maxsize=4096)
def _tuplet(
    beat: int, length: int, unit: int, factor: int, count: int, whole: bool
) -> Tuplet | None:
    """Return the tuplet for a stretch of ``length`` ticks, or None where no values can write it.

    It has as many notes as the odd part of the ``unit`` asks for, in the time of the next lower
    power of two (times ``factor``, so that five in three beats are five quarters in the time of
    three). Where most of the ``count`` notes are of the unit itself, the number is that of the
    units: six, not three. ``whole``: it fills a beat, or the part of one that a measure has, so
    that it need not be even.
    """
    odd = _odd_divisor(beat // math.gcd(beat, unit))
    normal = factor << ((odd // factor).bit_length() - 1)
    written = Fraction(unit * odd, normal * beat)
    # A ratio that nobody counts is better than a value finer than any.
    while written.denominator > IN_QUARTER and normal % 2 == 0:
        normal, written = normal // 2, written * 2
    if written.denominator > IN_QUARTER:
        return None
    share = Fraction(length, normal * beat)
    if _odd_divisor(share.numerator) != 1 or _odd_divisor(share.denominator) != 1:
        if not whole or odd > MAX_IN_PART:
            return None
        share = written
    size = 1 << (int(share * IN_QUARTER).bit_length() - 1)
    times, rest = divmod(length, unit * odd)
    if rest == 0 and 2 * count > odd * times and _odd_divisor(times) == 1:
        odd, normal, size = odd * times, normal * times, size // times
    if odd > max(MAX_UNEVEN, 2 * count):
        return None
    return Tuplet(odd, normal, value_of(size).type, True)


def _is_beat(start: int, end: int, lines: Sequence[int]) -> bool:
    return start in lines and end in lines


def _inner_bounds(start: int, end: int, bounds: Sequence[int]) -> list[int]:
    """Return the bounds between two points and the end, counted from ``start``."""
    first, last = bisect_right(bounds, start), bisect_left(bounds, end)
    return [*[bound - start for bound in bounds[first:last]], end - start]


def _odd_part(beat: int, start: int, end: int, bounds: Sequence[int]) -> int:
    """Return the odd part of the unit's denominator: 1 for plain values."""
    return _odd_divisor(beat // math.gcd(beat, *_inner_bounds(start, end, bounds)))


def _odd_divisor(number: int) -> int:
    """Return the largest odd divisor of a number."""
    return number // (number & -number)


def _cost(region: Region, beat: int, lines: Sequence[int], bounds: Sequence[int]) -> int:
    """Return the cost of a region to its reader."""
    if region.fine:
        return _MISFIT
    inner = _inner_bounds(region.start, region.end, bounds)
    if region.plain and inner == [beat] and _is_beat(region.start, region.end, lines):
        return _HELD_BEAT
    signs = 0
    for start, end in pairwise([0, *inner]):
        values = in_values(region.written_length(end, beat) - region.written_length(start, beat))
        signs += sum(1 if region.plain else 1 + value.dots for value in values)
    actual = region.tuplet.actual if region.tuplet else 0
    even = math.gcd(*inner) * actual == region.end - region.start
    return (_NOTE if even or not region.crosses else _NOTE_IN_WIDE) * signs
