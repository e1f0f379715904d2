"""Played times on the coarsest cells of a beat that are near enough, and how near they are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from typing import NamedTuple

PLAIN_PARTS = 16
"""A time of at most so many parts of a beat is plain."""
TIMES_OF_NEIGHBOURS = 128
"""The finest parts of a beat between one time and the next."""
LARGEST_PRIME = 13
"""The largest prime in which a beat is parted: no cells in cells are of 53 parts."""
FINEST_PARTS = 4000
PROGRAM_PARTS = frozenset((*range(1, 17), 18, 20, 24, 32, 48))
"""The parts of a beat that a program's times are mostly in."""
MOST_UNEVEN = Fraction(1, 10)
"""The share of other times up to which they are still a program's."""
PLAYED_PARTS = (1, 2, 3, 4, 6, 8)
"""The parts of a beat that are tried where times are a player's."""
PLAYED_RESIDUE = Fraction(1, 11)
"""The most of a beat by which a player's note is moved."""
TOGETHER = Fraction(1, 32)
"""Starts of a player that are nearer than this are one."""
GAP = Fraction(1, 4)
"""A silence of at most so much of a beat, and of half the note before it, is how it is played."""
FEWEST_SWUNG = 4
SWUNG, HALF = Fraction(2, 3), Fraction(1, 2)

Span = tuple[Fraction, Fraction]


class Spans(NamedTuple):
    """Notes as (start, end) in beats, and the most by which any start was moved."""

    spans: tuple[Span, ...]
    residue: Fraction


def quantised(spans: Sequence[Span], tick: Fraction, *, own: bool = False) -> Spans:
    """Return notes, in order of their starts, on the coarsest cells; ``tick`` is the finest step
    that the source has. ``own``: nobody played them, and every end is meant."""
    starts = plain_times([start for start, _ in spans], tick)
    odd = sum(start.denominator not in PROGRAM_PARTS for start in starts)
    if own or odd <= MOST_UNEVEN * len(starts):
        ends = [on + _step(end - on, tick) for on, (_, end) in zip(starts, spans, strict=True)]
    else:
        parts = _parts([start for start, _ in spans])
        starts = [_on_grid(start, parts) for start, _ in spans]
        ends = [_end_on_grid(end, parts) for _, end in spans]
    moves = [abs(on - start) for on, (start, _) in zip(starts, spans, strict=True)]
    done = []
    for at, (start, end) in enumerate(zip(starts, ends, strict=True)):
        after = next((other for other in starts[at + 1 : at + 4] if other > start), None)
        if own and after is not None and abs(after - end) <= 2 * tick:
            end = after
        done.append((start, end if own else _to_next(start, end, after)))
    return Spans(tuple(done), max(moves, default=Fraction(0)))


def plain_times(times: Sequence[Fraction], tick: Fraction) -> list[Fraction]:
    """Return rising times of a file with such a tick as they were meant: plain in themselves, or
    so far from the one before."""
    found: list[Fraction] = []
    for time in times:
        plain = plainest(time, tick, PLAIN_PARTS)
        if plain.denominator > PLAIN_PARTS and found:
            step = _step(time - found[-1], tick)
            plain = found[-1] + step if _in_cells(step) else of_small_primes(time, tick)
        found.append(plain)
    return found


def plainest(at: Fraction, tick: Fraction, most: int) -> Fraction:
    """Return the plainest time that a file with such a tick writes so, of at most so many parts of
    a beat; the time itself where there is none."""
    beat, offset = divmod(at, 1)
    if offset.denominator <= most:
        return at
    plain = simplest_between(offset - tick / 2, offset + tick / 2)
    return beat + plain if plain.denominator <= most else at


def _step(step: Fraction, tick: Fraction) -> Fraction:
    """Return the plainest step in cells that a file with such a tick writes so; the step itself
    where there is none."""
    plain = plainest(step, tick, TIMES_OF_NEIGHBOURS)
    return plain if _in_cells(plain) else step


def _in_cells(step: Fraction) -> bool:
    """Return whether a step is as cells in cells have it."""
    left = step.denominator
    for prime in (2, 3, 5, 7, 11, LARGEST_PRIME):
        while left % prime == 0:
            left //= prime
    return left == 1 and step.denominator <= TIMES_OF_NEIGHBOURS


def of_small_primes(at: Fraction, tick: Fraction) -> Fraction:
    """Return the plainest time that a file with such a tick writes so, in parts of a beat as cells
    in cells have them; the time itself where there is none."""
    beat, offset = divmod(at, 1)
    for parts in _small_primes():
        near = Fraction(round(offset * parts), parts)
        if abs(near - offset) <= tick / 2:
            return beat + near
    return at


@cache
def _small_primes() -> tuple[int, ...]:
    """Return the numbers up to ``FINEST_PARTS`` without a prime factor above 7, rising."""
    found = {1}
    for prime in (2, 3, 5, 7):
        for one in sorted(found):
            power = one
            while power * prime <= FINEST_PARTS:
                power *= prime
                found.add(power)
    return tuple(sorted(found))


def simplest_between(low: Fraction, high: Fraction) -> Fraction:
    """Return the fraction with the smallest denominator from ``low`` to ``high``."""
    whole = -(-low // 1)
    if whole <= high:
        return Fraction(whole)
    floor = low // 1
    return floor + 1 / simplest_between(1 / (high - floor), 1 / (low - floor))


def _parts(starts: Sequence[Fraction]) -> dict[int, int]:
    """Return the parts of each beat that a player's starts are nearest to, as few as will do."""
    in_beat: dict[int, list[Fraction]] = defaultdict(list)
    for start in starts:
        beat = int((start + TOGETHER) // 1)  # what is just before a beat belongs to it
        in_beat[beat].append(start - beat)
    return {beat: _fewest(sorted(offsets)) for beat, offsets in in_beat.items()}


def _fewest(offsets: Sequence[Fraction]) -> int:
    """Return the fewest parts of a beat in which its starts stay apart and near."""
    apart = [
        offset for at, offset in enumerate(offsets) if not at or offset - offsets[at - 1] > TOGETHER
    ]
    for parts in PLAYED_PARTS:
        placed = {round(offset * parts) for offset in apart}
        near = all(
            abs(offset - Fraction(round(offset * parts), parts)) <= PLAYED_RESIDUE
            for offset in apart
        )
        if near and len(placed) == len(apart):
            return parts
    return PLAYED_PARTS[-1]


def _on_grid(at: Fraction, parts: dict[int, int]) -> Fraction:
    """Return the place of a start in the parts of its beat."""
    beat = int((at + TOGETHER) // 1)
    count = parts.get(beat, 1)
    return beat + Fraction(round((at - beat) * count), count)


def _end_on_grid(at: Fraction, parts: dict[int, int]) -> Fraction:
    """Return the place of an end in the parts of its beat, or in quarters."""
    beat = int(at // 1)
    count = max(parts.get(beat, 1), 4)
    return beat + Fraction(round((at - beat) * count), count)


def _to_next(start: Fraction, end: Fraction, after: Fraction | None) -> Fraction:
    """Return where a note ends: with the next one, if only the way of playing parts them."""
    end = max(end, start + Fraction(1, 16))
    if after is None:
        return end
    gap = after - end
    return after if gap <= 0 or gap <= min(GAP, (end - start) / 2) else end


class HalvedBeats(NamedTuple):
    """How many beats have a start at two thirds alone, and how many at their half."""

    swung: int
    even: int


def halved_beats(starts: Sequence[Fraction]) -> HalvedBeats:
    """Return how beats are halved: long and short, or evenly."""
    inner: dict[int, set[Fraction]] = defaultdict(set)
    for start in starts:
        if start % 1:
            inner[int(start // 1)].add(start % 1)
    swung = sum(offsets == {SWUNG} for offsets in inner.values())
    return HalvedBeats(swung, sum(offsets == {HALF} for offsets in inner.values()))


def unswung(spans: Sequence[Span], swing: Fraction) -> list[Span]:
    """Return swung notes as they are written: in even halves; ``swing`` is long to short."""
    inner: dict[int, set[Fraction]] = defaultdict(set)
    for start, _ in spans:
        if start % 1:
            inner[int(start // 1)].add(start % 1)
    late = swing / (swing + 1)
    halved = {beat for beat, offsets in inner.items() if offsets == {late}}

    def written(at: Fraction) -> Fraction:
        beat, offset = divmod(at, 1)
        if offset == late and (int(beat) in halved or int(beat) not in inner):
            return beat + HALF
        return at

    return [(written(start), written(end)) for start, end in spans]
