"""The plainest few answers, found without looking at all of them.

Gaps are tried from plain and small to fine and large; each pair of gaps says by itself on which
beat a cadence that lands must begin, so that the search can stop at the first few.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from cyclechart.theory.cadence.search import MAX_STEPS, solve
from cyclechart.theory.cadence.sums import Found, Sums
from cyclechart.theory.cadence.terms import Answers, Question
from cyclechart.theory.cycle import Cycle

FINENESSES = 4
"""Whole beats, half beats, the cycle's pulses, thirds and quarters and the phrase's own."""


def plainest(question: Question, cycle: Cycle, many: int = 12, most: int | None = None) -> Answers:
    """The first answers of ``solve``, at least ``many`` where there are so many.

    ``stopped`` where the search looked at ``most`` candidates (``MAX_STEPS``) before it had them.
    """
    limit = MAX_STEPS if most is None else most
    sums = Sums(question, cycle)
    if sums.gap is not None and sums.round_gap is not None:
        return solve(question, cycle, most)
    if not question.sound or never_whole(question, cycle):
        return Answers(())
    starts = frozenset(sums.starts())
    found: list[tuple[tuple[int, ...], Found, int]] = []
    looked_at, stopped = 0, False
    for pairs in _rising(sums):
        for gap, round_gap in pairs:
            looked_at += 1
            landed = _landed(sums, starts, gap, round_gap)
            if landed is not None:
                found.append((sums.plainness(*landed), *landed))
        if len(found) >= many:
            break
        if looked_at >= limit:
            stopped = True
            break
    found.sort(key=lambda item: item[0])
    answers = (sums.answer(candidate, cycles) for _, candidate, cycles in found)
    return Answers(tuple(answers), stopped, looked_at)


def never_whole(question: Question, cycle: Cycle) -> bool:
    """Return whether no gap that can be counted makes the parts of a beat come out; none lands."""
    sums = Sums(question, cycle)
    if sums.gap is not None and sums.round_gap is not None:
        return False
    moves = [sums.beats, *sums.starts()] if sums.begins is None else [sums.beats]
    if sums.gap is None:
        moves += [sums.per_gap * step for step in sums.steps]
    if sums.round_gap is None:
        moves += [sums.per_round * step for step in sums.steps]
    start = 0 if sums.begins is None else sums.begins - sums.unit
    reach = sums.last(start, sums.gap or 0, sums.round_gap or 0) + sums.early
    return reach % math.gcd(*moves) != 0


def never_counted(question: Question, cycle: Cycle) -> bool:
    """Return whether no gap that can be counted, from no beginning, makes the parts of a beat come
    out: gaps are in parts of one kind each, as ``solve`` tries them."""
    sums = Sums(question, cycle)
    if question.gaps_said or not question.sound:
        return False
    moves = [sums.per_gap * step for step in sums.steps] if sums.gap is None else [0]
    more = [sums.per_round * step for step in sums.steps] if sums.round_gap is None else [0]
    starts = sums.starts() if sums.begins is None else [sums.begins - sums.unit]
    reach = sums.last(0, sums.gap or 0, sums.round_gap or 0) + sums.early
    sizes = {math.gcd(sums.beats, one, other) for one in moves for other in more}
    return all((reach + start) % size for start in starts for size in sizes)


def _landed(
    sums: Sums, starts: frozenset[int], gap: int, round_gap: int
) -> tuple[Found, int] | None:
    """The one beginning from which these gaps land, and after how many cycles."""
    start = (sums.begins or sums.unit) - sums.unit
    if sums.begins is None:
        start = -(sums.last(0, gap, round_gap) + sums.early) % sums.beats
        if start not in starts:
            return None
    candidate = (start, gap, round_gap)
    cycles = sums.cycles(candidate)
    return None if cycles is None else (candidate, cycles)


def _rising(sums: Sums) -> Iterator[Iterable[tuple[int, int]]]:
    """All pairs of gaps that the window has room for, those of one fineness and sum together."""
    rooms = [sums.per_gap] if sums.gap is None else []
    rooms += [sums.per_round] if sums.round_gap is None else []
    start = 0 if sums.begins is None else sums.begins - sums.unit
    given = (sums.gap or 0, sums.round_gap or 0)
    left = sums.question.within * sums.beats - sums.last(start, *given) - sums.early
    most = sum(given) + left // min(rooms)
    for fineness in range(FINENESSES):
        step = (
            sums.unit,
            sums.unit // 2,
            math.gcd(sums.unit // 2, sums.pulse),
            math.gcd(*sums.steps),
        )[fineness]
        for total in range(sum(given), most + 1, step):
            yield _pairs(sums, fineness, total)


def _pairs(sums: Sums, fineness: int, total: int) -> Iterator[tuple[int, int]]:
    """The pairs of gaps of one sum, the finer of the two of this fineness."""
    if sums.gap is not None:
        gaps: Iterable[int] = [sums.gap]
    elif sums.round_gap is not None:
        gaps = [total - sums.round_gap]
    elif fineness < 2:
        gaps = range(0, total + 1, sums.unit >> fineness)
    else:
        gaps = sums.grid(total)
    for gap in gaps:
        round_gap = total - gap
        if (
            max(sums.fineness(gap), sums.fineness(round_gap)) == fineness
            and sums.fits(gap, sums.gap)
            and sums.fits(round_gap, sums.round_gap)
        ):
            yield gap, round_gap
