"""What to try for a cadence: other gaps, another beginning, a wider window, with their edits."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from functools import partial
from typing import Literal, NamedTuple

from cyclechart.finding import Suggestion
from cyclechart.piece.line import Cadence, Line
from cyclechart.piece.model import Piece
from cyclechart.piece.piece_edits import CadencePlace, cadence_key_edits
from cyclechart.text.passage_edits import edits_of
from cyclechart.theory.cadence import (
    Answer,
    begins_instead,
    nearest_gap,
    nearest_length,
    plainest,
    solve,
    soonest,
)
from cyclechart.theory.exact import show_beats, show_exact

MOST_STEPS = 5_000
"""The most candidates that the search for one suggestion looks at."""
WIDEST = 64
"""The widest window, in cycles, in which a cadence is searched for."""

_WORDS: dict[CadencePlace, str] = {
    "gap": "gap",
    "inner": "inner gap",
    "outer": "outer gap",
    "first": "the first part's gap",
    "begins": "begins",
    "within": "within",
}


class _Value(NamedTuple):
    """A value that a key of a cadence could have."""

    place: CadencePlace
    value: Fraction


_Change = tuple[_Value, ...] | Fraction
"""Values that go together, or the length that a statement could have, which a person writes."""


def instead(piece: Piece, line: Line, cadence: Cadence) -> list[Suggestion]:
    """Return the changes that land, each with all else as it is written."""
    question, cycle = cadence.question, cadence.cycle
    assert cycle is not None
    search = partial(solve, most=MOST_STEPS)
    gaps: list[tuple[Literal["gap", "round_gap", "first_gap"], CadencePlace]] = []
    if question.times > 1:
        gaps.append(("gap", "inner" if question.rounds > 1 else "gap"))
    if question.rounds > 1:
        gaps.append(("round_gap", "outer"))
    gaps.append(("first_gap", "first"))
    changes: list[_Change] = []
    for which, place in gaps:
        if (gap := nearest_gap(question, cycle, which, search)) is not None:
            changes.append((_Value(place, gap),))
    return _suggested(piece, line, cadence, [*changes, *_other_beginning_or_length(cadence)])


def wider(piece: Piece, line: Line, cadence: Cadence) -> list[Suggestion]:
    """Return the changes that solve a cadence: a wider window, another beginning or length."""
    question, cycle = cadence.question, cadence.cycle
    assert cycle is not None
    changes: list[_Change] = []
    if question.begins is None and not cadence.solved.stopped:
        gap = question.gap or Fraction(0)
        first = question.first and replace(question.first, gap=question.first.gap or Fraction(0))
        between = question.round_gap or Fraction(0)
        asked = replace(question, gap=gap, round_gap=between, first=first)
        changes += [_values(cadence, one) for one in solve(asked, cycle, MOST_STEPS).found[:1]]
    if (cycles := soonest(question, cycle, WIDEST, MOST_STEPS)) is not None:
        changes.append((_Value("within", Fraction(cycles)),))
    return _suggested(piece, line, cadence, [*changes, *_other_beginning_or_length(cadence)])


def without_early_ends(piece: Piece, line: Line, cadence: Cadence) -> list[Suggestion]:
    """Return the plainest answer in which only the last statement ends on a first beat."""
    question, cycle = cadence.question, cadence.cycle
    assert cycle is not None
    begins = question.begins if cadence.chained else None
    first = question.first
    if first is not None and question.rounds == 1:
        first = replace(first, gap=None)
    asked = replace(question, gap=None, round_gap=None, begins=begins, first=first)
    for other in plainest(asked, cycle, most=MOST_STEPS).found:
        if not other.early_ends(cycle.beats):
            return _suggested(piece, line, cadence, [_values(cadence, other)])
    return []


def gap_and_begins(piece: Piece, line: Line, cadence: Cadence, other: Answer) -> Suggestion:
    """Return the suggestion of another answer's gap and beginning."""
    values = (_Value("gap", other.gap), _Value("begins", other.begins))
    return _suggestion(piece, line, cadence, values)


def _other_beginning_or_length(cadence: Cadence) -> Iterable[_Change]:
    question, cycle = cadence.question, cadence.cycle
    assert cycle is not None
    if not cadence.chained and (begins := begins_instead(question, cycle, MOST_STEPS)) is not None:
        yield (_Value("begins", begins),)
    if (length := nearest_length(question, cycle, most=MOST_STEPS)) is not None:
        yield length + max(question.changes)


def _values(cadence: Cadence, other: Answer) -> tuple[_Value, ...]:
    """Return an answer as the values of the keys."""
    values = []
    if cadence.question.times > 1:
        values.append(_Value("gap" if other.round_gap is None else "inner", other.gap))
    if other.round_gap is not None:
        values.append(_Value("outer", other.round_gap))
    if other.first_gap is not None:
        values.append(_Value("first", other.first_gap))
    if not cadence.chained:
        values.append(_Value("begins", other.begins))
    return tuple(values)


def _suggested(
    piece: Piece, line: Line, cadence: Cadence, changes: Iterable[_Change]
) -> list[Suggestion]:
    return [_suggestion(piece, line, cadence, one) for one in changes]


def _suggestion(piece: Piece, line: Line, cadence: Cadence, change: _Change) -> Suggestion:
    if isinstance(change, Fraction):
        return Suggestion(f"a statement of {show_beats(change)}")
    written = [(one.place, show_exact(one.value)) for one in change]
    words = ", ".join(f"{_WORDS[place]}: {value}" for place, value in written)
    edits = (cadence_key_edits(piece, line, cadence, place, value) for place, value in written)
    return Suggestion(words, edits_of(*edits))
