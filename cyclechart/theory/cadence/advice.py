"""Why a question has no answer, by how much it misses, and what would land instead."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Literal, NamedTuple

from cyclechart.theory.cadence.search import MAX_STEPS, fill, follow, look, solve
from cyclechart.theory.cadence.sums import Sums
from cyclechart.theory.cadence.terms import Answers, Question, Statement
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats


def target(question: Question) -> str:
    """Return in words where a cadence is to land."""
    home = "a first beat"
    if question.eduppu:
        home = f"the eduppu, {show_beats(question.eduppu)} after a first beat"
    if not question.early:
        return home
    side = "before" if question.early > 0 else "after"
    return f"{show_beats(abs(question.early))} {side} {home}"


class Miss(NamedTuple):
    """The place of the last stroke of a fully written cadence (a count from 1), and how many beats
    that is short of the place aimed at, and over the one before."""

    last: Fraction
    short: Fraction
    over: Fraction


def miss(question: Question, cycle: Cycle) -> Miss | None:
    """By how much a cadence misses whose beginning and gaps are all said; None if it lands."""
    sums = Sums(question, cycle)
    if None in (sums.gap, sums.round_gap, sums.begins) or not question.sound:
        return None
    ((start, gap, round_gap),) = sums.candidates([1])
    last = sums.last(start, gap, round_gap)
    short = -(last + sums.early) % sums.beats
    if not short:
        return None
    return Miss(sums.count(last, start), sums.beat(short), sums.beat(sums.beats - short))


def beats_needed(question: Question, cycle: Cycle) -> Fraction | None:
    """Beats from the first beat of its cycle to where it aims, at the least, if the window has
    not so many; else None."""
    sums = Sums(question, cycle)
    start = (sums.begins or sums.unit) - sums.unit
    last = sums.last(start, sums.gap or 0, sums.round_gap or 0) + sums.early
    return sums.beat(last) if last > question.within * sums.beats else None


def nearest_gap(
    question: Question,
    cycle: Cycle,
    which: Literal["gap", "round_gap", "first_gap"] = "gap",
    search: Callable[[Question, Cycle], Answers] = solve,
) -> Fraction | None:
    """The gap nearest to the one said that lands, all else as it is; the smaller of two."""
    first = question.first
    first_gap = first.gap if first is not None else None
    said = {"gap": question.gap, "round_gap": question.round_gap, "first_gap": first_gap}[which]
    if said is None:
        return None
    if which == "gap":
        asked = replace(question, gap=None)
    elif which == "round_gap":
        asked = replace(question, round_gap=None)
    else:
        asked = replace(question, first=replace(first, gap=None) if first is not None else None)
    found: set[Fraction | None] = {getattr(a, which) for a in search(asked, cycle).found}
    gaps = {gap for gap in found if gap is not None}
    return min(gaps, key=lambda gap: (abs(gap - said), gap), default=None)


def begins_instead(question: Question, cycle: Cycle, most: int | None = None) -> Fraction | None:
    """The plainest beginning that lands with the gaps said, where one is said that does not."""
    if question.begins is None:
        return None
    found = solve(replace(question, begins=None), cycle, most).found
    return found[0].begins if found else None


def why_none(question: Question, cycle: Cycle) -> str:
    """Why a question has no answer, where that can be said in a sentence; else ""."""
    begins, gap, first = question.begins, question.gap, question.first
    if begins is None or gap is None or question.rounds > 1 or not question.gaps_said:
        return ""
    if question.speeds:
        return ""
    times, tail = question.times, question.statement.tail
    before = question.body + question.early - question.eduppu
    if first is not None:
        before += sum(first.lengths) + len(first.lengths) * (first.gap or 0)
    # Where the last stroke falls from where it comes home to, but for times × the phrase's beats.
    rest = begins - 1 + (times - 1) * gap + before - tail + sum(question.changes)
    numbers = (cycle.beats, begins, gap, before, question.step, tail)
    if any(number.denominator > 1 for number in numbers):
        return ""
    common = math.gcd(times, int(cycle.beats))
    if rest % common == 0:
        return ""
    return (
        f"{times} statements and a cycle of {cycle.beats} beats are both divided by "
        f"{common}, so that no phrase of whole beats lands from that beat with that gap"
    )


def nearest_length(
    question: Question, cycle: Cycle, reach: int = 8, most: int | None = None
) -> Fraction | None:
    """The length nearest to the statement's for which there is an answer, down to quarters.

    All lengths together look at ``most`` candidates (``MAX_STEPS``) and no more.
    """
    left = MAX_STEPS if most is None else most
    statement = question.statement
    steps = {Fraction(part, size) for size in (1, 2, 3, 4) for part in range(1, size * reach + 1)}
    for step in sorted(steps):
        for change in (step, -step):
            length = statement.length + change
            last = statement.last + change
            if last < 0:  # There is no room for the last stroke, let alone what follows it.
                continue
            before = tuple(onset for onset in statement.onsets[:-1] if onset < last)
            changed = Statement(length, (*before, last), statement.written)
            asked = replace(question, statement=changed)
            cycles, looked_at = look(asked, cycle, question.within, left)
            if cycles is not None:
                return length
            left -= looked_at
    return None


def nearest_room(
    question: Question, room: Fraction, cycle: Cycle, reach: int = 8
) -> Fraction | None:
    """The room nearest to one that no phrase fills that one does fill, down to quarters."""
    parts = range(1, 4 * reach + 1)
    for size in sorted((Fraction(part, 4) for part in parts), key=lambda s: (s.denominator, s)):
        for other in (room + size, room - size):
            if other > 0 and fill(question, other, cycle).found:
                return other
    return None


def wider(question: Question, cycle: Cycle, most: int = 256) -> int | None:
    """In how few cycles more than its window a body has something to follow it; None if none."""
    last = min(most, question.within + 4 * question.rounds)
    for within in range(question.within + 1, last + 1):
        if follow(replace(question, within=within), cycle).found:
            return within
    return None
