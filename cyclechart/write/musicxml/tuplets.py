"""Where tuplets stand in a run of beats, found from where its notes begin and end alone.

A run reaches from one struck beat line to the next. It is cut into regions, each plain or one flat
tuplet, in the way that gives a reader least to do: few notes, few ties, few dots in tuplets.
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
"""A tuplet spans at most so many beats."""

MAX_POINTS = 48
"""A run with more places where a tuplet might begin is spelled beat by beat."""

# What a reader pays: for a note; for one in a tuplet that hides beat lines under notes of unlike
# values; for a beat through which a long note is held; and for a beat that no value fits.
_NOTE, _NOTE_IN_WIDE, _HELD_BEAT, _MISFIT = 3, 4, 1, 10_000


class Tuplet(NamedTuple):
    """``actual`` notes in the time of ``normal``, counted in ``unit`` values; how it is shown.

    An unshown one has a sign for neither its beginning nor its end: it is the exact time of a
    note too fine to be written.
    """

    actual: int
    normal: int
    unit: str
    bracket: bool
    shown: bool = True


@dataclass(frozen=True, slots=True)
class Region:
    """A stretch written in one way, in ticks: plain, in one tuplet, or (``fine``) past any value.

    ``crosses``: it hides a beat line.
    """

    start: int
    end: int
    tuplet: Tuplet | None = None
    fine: bool = False
    crosses: bool = False

    @property
    def plain(self) -> bool:
        """Whether it is written in plain values."""
        return self.tuplet is None and not self.fine

    def written(self, ticks: int, beat: int) -> int:
        """Ticks of sounding time as written time in ``IN_QUARTER``."""
        if self.tuplet is None:
            return ticks * IN_QUARTER // beat
        return ticks * IN_QUARTER * self.tuplet.actual // (self.tuplet.normal * beat)


def regions_of(beat: int, lines: Sequence[int], bounds: Sequence[int]) -> list[Region]:
    """The regions of a run, adjoining plain ones made one.

    ``beat`` is the ticks in a beat; ``lines`` are the run's beat lines and ``bounds`` where its
    notes and rests begin and end, both from 0 to the run's end.
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
    """The cheapest way from the run's beginning to its end, from point to point."""
    points = _points(beat, lines, bounds)
    reach = len(points)
    if reach > MAX_POINTS:
        points, reach = list(lines), 1
    best: list[tuple[int, list[Region]]] = [(0, [])]
    for end in range(1, len(points)):
        options = []
        # The widest first: of equals it is taken.
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
    """Where a region may begin: beat lines, and notes at halves, quarters … of a beat."""
    points = set(lines)
    for start, end in pairwise(lines):
        for bound in bounds:
            if start < bound < end and _odd_divisor(beat // math.gcd(beat, bound - start)) == 1:
                points.add(bound)
    return sorted(points)


def _region_between(
    beat: int, start: int, end: int, lines: Sequence[int], bounds: Sequence[int]
) -> Region | None:
    """One region from point to point, or None where none would be good to read."""
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
    # A tuplet over beat lines that would only mix unlike ones (thirds and fifths) is none.
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
    """The tuplet for a stretch of ``length`` ticks, or None where no values can say it.

    As many notes as the odd part of the ``unit`` asks for, in the time of the next lower power of
    two (times ``factor``, so that five in three beats are five quarters in the time of three).
    Where most of the ``count`` notes are of the unit itself, they are the number: six, not three.
    ``whole``: it fills a beat, or what a measure has of one, so that it need not be even.
    """
    odd = _odd_divisor(beat // math.gcd(beat, unit))
    normal = factor << ((odd // factor).bit_length() - 1)
    written = Fraction(unit * odd, normal * beat)
    # Rather a ratio that nobody counts than a value finer than any.
    while written.denominator > IN_QUARTER and normal % 2 == 0:
        normal, written = normal // 2, written * 2
    if written.denominator > IN_QUARTER:
        return None
    share = Fraction(length, normal * beat)
    if _odd_divisor(share.numerator) != 1 or _odd_divisor(share.denominator) != 1:
        if not whole:
            return None
        share = written
    size = 1 << (int(share * IN_QUARTER).bit_length() - 1)
    times, rest = divmod(length, unit * odd)
    if rest == 0 and 2 * count > odd * times and _odd_divisor(times) == 1:
        odd, normal, size = odd * times, normal * times, size // times
    return Tuplet(odd, normal, value_of(size).type, True)


def _is_beat(start: int, end: int, lines: Sequence[int]) -> bool:
    return start in lines and end in lines


def _inner_bounds(start: int, end: int, bounds: Sequence[int]) -> list[int]:
    """The bounds within, counted from ``start``, closed by the end."""
    first, last = bisect_right(bounds, start), bisect_left(bounds, end)
    return [*[bound - start for bound in bounds[first:last]], end - start]


def _odd_part(beat: int, start: int, end: int, bounds: Sequence[int]) -> int:
    """The odd part of the unit's denominator: 1 for plain values."""
    return _odd_divisor(beat // math.gcd(beat, *_inner_bounds(start, end, bounds)))


def _odd_divisor(number: int) -> int:
    """The largest odd divisor."""
    return number // (number & -number)


def _cost(region: Region, beat: int, lines: Sequence[int], bounds: Sequence[int]) -> int:
    if region.fine:
        return _MISFIT
    inner = _inner_bounds(region.start, region.end, bounds)
    if region.plain and inner == [beat] and _is_beat(region.start, region.end, lines):
        return _HELD_BEAT
    signs = 0
    for start, end in pairwise([0, *inner]):
        values = in_values(region.written(end, beat) - region.written(start, beat))
        signs += sum(1 if region.plain else 1 + value.dots for value in values)
    actual = region.tuplet.actual if region.tuplet else 0
    even = math.gcd(*inner) * actual == region.end - region.start
    return (_NOTE if even or not region.crosses else _NOTE_IN_WIDE) * signs
