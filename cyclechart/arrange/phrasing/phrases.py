"""The phrases of a placed line, and the place of each note in its phrase.

A phrase ends at a rest, and after a note that is long among its neighbours. Its level is an arch:
it rises to a goal, a note late in the phrase that is weighty, long or high, and falls from there. A
line that lands on sam has its goal there. (Phrase arches and louder high notes are among the rules
of performance of Friberg, Bresin and Sundberg, "Overview of the KTH rule system for musical
performance", 2006; from memory. The figures are our choice.)
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from statistics import median
from typing import NamedTuple, cast

from cyclechart.piece.line import Line
from cyclechart.piece.note import Note
from cyclechart.text.line_tree import CUT

LONG_BEATS = Fraction(2)
"""The fewest beats of a long note, which also lasts at least ``LONG_RATIO`` median notes."""
LONG_RATIO = 2
LEAST_NOTES = 3
"""The fewest notes before and after a long note that ends a phrase."""
EARLIEST_GOAL = 0.4
"""The share of a phrase's time before which it has no goal."""
BEGINNING, ENDING = -0.6, -0.5
"""The arch at the first note, and at the last where the goal is not there; 1 at the goal."""
OCTAVE = 12


class PhrasePlace(NamedTuple):
    """The place of a note in its phrase: ``arch`` (-1 to 1), ``height`` above the phrase's mean
    pitch (-1 to 1 for an octave), and the number of the phrase in its line."""

    arch: float
    height: float
    phrase: int


def phrase_places(line: Line, weights: tuple[float, ...]) -> list[PhrasePlace]:
    """Return the place of each note of a line, worked out once for the same ``weights`` of the
    metre."""
    key = phrase_places, weights
    known = line.worked_out.get(key)
    if known is None:
        places: list[PhrasePlace] = []
        for number, (first, end) in enumerate(phrases_of(line)):
            places += _places(line.notes[first:end], weights[first:end], number)
        known = line.worked_out[key] = places
    return cast(list[PhrasePlace], known)


def phrases_of(line: Line) -> list[tuple[int, int]]:
    """Return the phrases of a line, worked out once: the indices of the first note of each and of
    the next."""
    known = line.worked_out.get(phrases_of)
    if known is None:
        known = line.worked_out[phrases_of] = _phrases(line.notes)
    return cast(list[tuple[int, int]], known)


def _phrases(notes: Sequence[Note]) -> list[tuple[int, int]]:
    if not notes:
        return []
    usual = median([note.length for note in notes])
    found, first = [], 0
    rest = _runs(notes)
    for begin, end in rest:
        first = begin
        for at in range(begin, end):
            length = notes[at].length
            is_long = length >= LONG_BEATS and length >= LONG_RATIO * usual
            if is_long and at + 1 - first >= LEAST_NOTES and end - at - 1 >= LEAST_NOTES:
                found.append((first, at + 1))
                first = at + 1
        found.append((first, end))
    return found


def _runs(notes: Sequence[Note]) -> list[tuple[int, int]]:
    """Return the runs of notes without a rest or a cut-off between."""
    breaks = [
        at + 1
        for at, (before, after) in enumerate(pairwise(notes))
        if before.end != after.start or CUT in before.marks
    ]
    return list(pairwise([0, *breaks, len(notes)]))


def _places(notes: Sequence[Note], weights: Sequence[float], number: int) -> list[PhrasePlace]:
    pitches = [note.pitch for note in notes if note.pitch is not None]
    middle = sum(pitches) / len(pitches) if pitches else 0.0
    begin = notes[0].start
    lasts = float(notes[-1].start - begin)
    if not lasts:
        return [PhrasePlace(0.0, 0.0, number)] * len(notes)
    along = [float(note.start - begin) / lasts for note in notes]
    heights = [
        max(-1.0, min(1.0, (note.pitch - middle) / OCTAVE)) if note.pitch is not None else 0.0
        for note in notes
    ]
    goal = along[_goal(notes, weights, along, heights)]
    return [
        PhrasePlace(arch(at, goal), height, number)
        for at, height in zip(along, heights, strict=True)
    ]


def _goal(
    notes: Sequence[Note],
    weights: Sequence[float],
    along: Sequence[float],
    heights: Sequence[float],
) -> int:
    """Return the index of the goal of a phrase."""
    usual = float(median([note.length for note in notes]))

    def pull(at: int) -> tuple[float, int]:
        long = min(float(notes[at].length) / usual, 4.0) / 4
        return weights[at] + long / 2 + heights[at] / 3 + along[at] / 5, at

    return max((at for at in range(len(notes)) if along[at] >= EARLIEST_GOAL), key=pull)


def arch(at: float, goal: float) -> float:
    """Return the arch at a share of the phrase's time, in quarter turns of a sine."""
    if at <= goal:
        return BEGINNING + (1 - BEGINNING) * math.sin(math.pi / 2 * at / goal)
    return ENDING + (1 - ENDING) * math.cos(math.pi / 2 * (at - goal) / (1 - goal))
