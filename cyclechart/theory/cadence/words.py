"""What a cadence is made of, in words: the lengths of its statements and of its first part."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from cyclechart.theory.cadence.terms import Question
from cyclechart.theory.exact import show_beats, show_exact


def statements_of(question: Question) -> str:
    """Return ``5 beats``; the lengths one by one where they differ: ``7, 5 and 3 beats``."""
    if question.alike or question.times == 1:
        return show_beats(question.lengths[0])
    return listed_beats(question.lengths)


def first_part_of(question: Question) -> str:
    """Return ``a first part of 9, 7, 5 and 3 beats``, with the gap after each where it is said."""
    first = question.first
    if first is None:
        return ""
    said = f"a first part of {listed_beats(first.lengths)}"
    if first.gap:
        return f"{said} with a gap of {show_beats(first.gap)} after each"
    return said


def listed_beats(lengths: Iterable[Fraction]) -> str:
    """Return ``9, 7 and 5 beats``."""
    *before, last = [show_exact(length) for length in lengths]
    return f"{', '.join(before)} and {last} beats" if before else f"{last} beats"
