"""Sentences for a question about cadences without an answer: the reason, and what would land."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction

from cyclechart.theory import cadence
from cyclechart.theory.cadence import Answers, Question
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats, show_exact

Search = Callable[[Question, Cycle], Answers]

WIDEST = 256
"""The widest window that is tried, in cycles."""


def explain(
    question: Question, cycle: Cycle, search: Search, of: str, room: Fraction | None
) -> Iterator[str]:
    """The sentences of the answer."""
    within = f"within {question.within} cycle{'s' if question.within > 1 else ''} of {cycle.name}"
    if room is not None:
        home = "the eduppu" if question.eduppu else "sam"
        yield f"No phrase of whole beats fills {show_beats(room)} before {home} of {cycle.name}."
        yield from _tries(_gaps(question, cycle, search), _room(question, room, cycle))
    elif of == "phrase":
        length = show_beats(question.longest)
        yield f"No cadence with a phrase of {length} lands {within}."
        yield from _about_phrase(question, cycle, search)
    else:
        before = question.body
        if question.first is not None:
            before += sum(question.first.lengths)
        after = f"a {of} of {show_beats(before)}"
        yield f"No phrase of whole beats that follows {after} lands {within}."
        yield from _tries(_gaps(question, cycle, search), _wider(cadence.wider(question, cycle)))


def _about_phrase(question: Question, cycle: Cycle, search: Search) -> Iterator[str]:
    needed = cadence.beats_needed(question, cycle)
    if needed is not None:
        window = show_beats(question.within * cycle.beats)
        yield f"It takes {show_beats(needed)} up to its last stroke, but the window has {window}."
    missed = cadence.miss(question, cycle)
    if missed is not None:
        aim = cadence.target(question)
        yield (
            f"Its last stroke falls on count {show_exact(missed.last)}: {show_beats(missed.short)} "
            f"short of {aim}, {show_beats(missed.over)} past the one before."
        )
    reason = cadence.why_none(question, cycle)
    if not reason and cadence.never_counted(question, cycle):
        reason = (
            "with no gap in halves, thirds or quarters do its parts of a beat add up to whole beats"
        )
    if reason:
        yield f"{reason[0].upper()}{reason[1:]}."
    soonest = cadence.soonest(question, cycle, WIDEST)
    yield from _tries(
        _wider(soonest),
        _gaps(question, cycle, search),
        _begins(question, cycle),
        _length(cadence.nearest_length(question, cycle), max(question.changes)),
    )


def _tries(*groups: list[str]) -> Iterator[str]:
    """Yield the suggestions as a report prints them."""
    for number, text in enumerate(text for group in groups for text in group):
        yield f"  {'try' if number == 0 else ' or'}: {text}"


def _gaps(question: Question, cycle: Cycle, search: Search) -> list[str]:
    gap = cadence.nearest_gap(question, cycle, "gap", search)
    between = cadence.nearest_gap(question, cycle, "round_gap", search)
    after = cadence.nearest_gap(question, cycle, "first_gap", search)
    tries = [] if gap is None else [f"--gap {_quoted(gap)}"]
    tries += [] if after is None else [f"--first-gap {_quoted(after)}"]
    return tries if between is None else [*tries, f"--round-gap {_quoted(between)}"]


def _begins(question: Question, cycle: Cycle) -> list[str]:
    begins = cadence.begins_instead(question, cycle)
    return [] if begins is None else [f"--begins {_quoted(begins)}"]


def _room(question: Question, room: Fraction, cycle: Cycle) -> list[str]:
    nearest = cadence.nearest_room(question, room, cycle)
    return [] if nearest is None else [f"--room {_quoted(nearest)}"]


def _wider(cycles: int | None) -> list[str]:
    return [] if cycles is None else [f"--within {cycles}"]


def _length(length: Fraction | None, more: Fraction) -> list[str]:
    """Return the phrase of another length; the longest is ``more`` than the first of a yati."""
    return [] if length is None else [f"a phrase of {show_beats(length + more)}"]


def _quoted(value: Fraction) -> str:
    """A number as one word of a command line."""
    shown = show_exact(value)
    return f'"{shown}"' if " " in shown else shown
