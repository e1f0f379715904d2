"""Played times on the coarsest cells of a beat that are near enough, and how near they are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

EXACT_PARTS = (*range(1, 17), 18, 20, 21, 22, 24, 28, 30, 32, 36, 40, 48, 60, 64)
"""The parts of a beat that are tried where times are a program's."""
PLAYED_PARTS = (1, 2, 3, 4, 6, 8)
"""The parts of a beat that are tried where times are a player's."""
PLAYED_RESIDUE = Fraction(1, 11)
"""The most of a beat by which a player's note is moved."""
MOST_UNEVEN = Fraction(1, 20)
"""The share of beats that no exact parts fit, up to which times are still a program's."""
GAP = Fraction(1, 4)
"""A silence of at most so much of a beat, and of half the note before it, is how it is played."""


class Spans(NamedTuple):
    """Notes as (start, end) in beats, and the most by which any start was moved."""

    spans: tuple[tuple[Fraction, Fraction], ...]
    residue: Fraction


def quantised(spans: Sequence[tuple[Fraction, Fraction]], tick: Fraction) -> Spans:
    """Return notes, in order of their starts, on the coarsest cells; ``tick`` is the finest step
    that the source has."""
    near = tick * 3 / 4  # a time between two ticks is on the nearer one
    parts, uneven = _parts(spans, near, EXACT_PARTS)
    if uneven > MOST_UNEVEN * len(parts):
        parts, _ = _parts(spans, PLAYED_RESIDUE, PLAYED_PARTS)
    starts = [_on_grid(start, parts) for start, _ in spans]
    moves = [abs(on - start) for on, (start, _) in zip(starts, spans, strict=True)]
    residue = max(moves, default=Fraction(0))
    done = []
    for at, (start, end) in enumerate(spans):
        begun = starts[at]
        after = next((other for other in starts[at + 1 : at + 4] if other > begun), None)
        done.append((begun, _end(begun, start, end, after, parts, near)))
    return Spans(tuple(done), residue)


def _parts(
    spans: Sequence[tuple[Fraction, Fraction]], near: Fraction, allowed: Sequence[int]
) -> tuple[dict[int, int], int]:
    """Return the parts of each beat that has starts, and in how many beats none is near enough."""
    in_beat: dict[int, set[Fraction]] = defaultdict(set)
    for start, _ in spans:
        # What is just before a beat belongs to it.
        beat = int((start + near) // 1)
        in_beat[beat].add(start - beat)
    found: dict[int, int] = {}
    uneven = 0
    for beat, offsets in in_beat.items():
        for parts in allowed:
            placed = {round(offset * parts) for offset in offsets}
            if len(placed) == len(_apart(offsets, near)) and all(
                abs(offset - Fraction(round(offset * parts), parts)) <= near for offset in offsets
            ):
                found[beat] = parts
                break
        else:
            found[beat] = allowed[-1]
            uneven += 1
    return found, uneven


def _apart(offsets: set[Fraction], near: Fraction) -> list[Fraction]:
    """Return the offsets that are not struck together."""
    apart: list[Fraction] = []
    for offset in sorted(offsets):
        if not apart or offset - apart[-1] > min(near, Fraction(1, 32)):
            apart.append(offset)
    return apart


def _on_grid(at: Fraction, parts: dict[int, int]) -> Fraction:
    """Return the place of a start in the cells of its beat."""
    beat = int(at // 1)
    for one in (beat, beat + 1):
        if one in parts:
            placed = one + Fraction(round((at - one) * parts[one]), parts[one])
            if one == beat and placed == beat + 1:
                return placed
            if one == beat or placed == one:
                return placed
    return Fraction(round(at))


def _end(
    begun: Fraction,
    start: Fraction,
    end: Fraction,
    after: Fraction | None,
    parts: dict[int, int],
    near: Fraction,
) -> Fraction:
    """Return where a note ends: with the next one, or on the cells of its beat."""
    if after is not None:
        gap = after - end
        if gap <= near or gap <= min(GAP, (end - start) / 2):
            return after
    beat = int((end - near) // 1)
    for count in dict.fromkeys((parts.get(beat, 1), 2, 3, 4, 6, 8, 12, 16)):
        placed = beat + Fraction(round((end - beat) * count), count)
        if abs(placed - end) <= near and placed > begun:
            return placed
    count = max(parts.get(beat, 1), 4)
    placed = beat + Fraction(round((end - beat) * count), count)
    while placed <= begun:
        placed += Fraction(1, count)
    return placed if after is None else min(placed, after)
