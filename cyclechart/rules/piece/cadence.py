"""The cadence rules: does the last stroke meet the first beat, and does none before it?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import count

from cyclechart.finding import Finding, Suggestion
from cyclechart.piece.cadences import is_written_out
from cyclechart.piece.line import Cadence, Line
from cyclechart.piece.model import Piece
from cyclechart.rules.piece.cadence_tries import instead, wider, without_early_ends
from cyclechart.rules.rule import Rule, measured_lines, place_of, rule
from cyclechart.theory.cadence import (
    beats_needed,
    miss,
    never_counted,
    target,
    why_none,
)
from cyclechart.theory.cadence.words import first_part_of, statements_of
from cyclechart.theory.exact import show_beats, show_exact

MOST_TRIED = 10
"""The most cadences of a piece that get suggestions: a piece with more has other problems."""


@rule("error")
def cadence_misses(piece: Piece, this: Rule) -> Iterator[Finding]:
    """With its beginning and gaps as written, the cadence does not end on a first beat (sam).

    A line with an eduppu comes home so many beats after the first beat, and one that says
    `lands: atit 3/2` (or anagat) lands so much after (before) that; the cadence is solved for it.
    (In the South the two words are used of a song's beginning, and the other way round.)

    wrong:  (charukeshi, tintal)  cadence: {sargam: P m GR G S, gap: 2, begins: 1}
    right:  (charukeshi, tintal)  cadence: {sargam: P m GR G S, gap: 1, begins: 1}
    """
    told = count()
    for line, cadence in _cadences(piece):
        question, cycle = cadence.question, cadence.cycle
        if cadence.answer is not None or cycle is None or not is_written_out(question):
            continue
        off = miss(question, cycle)
        if off is None:
            continue
        aim = target(question)
        what = (
            f"{_said(cadence)} from beat {show_exact(_beat(question.begins, cycle.beats))} end "
            f"{show_beats(off.short)} short of {aim}, {show_beats(off.over)} past the one before"
        )
        yield _found(
            piece,
            this,
            line,
            cadence,
            what,
            instead(piece, line, cadence) if next(told) < MOST_TRIED else [],
        )


@rule("error")
def cadence_unsolved(piece: Piece, this: Rule) -> Iterator[Finding]:
    """The cadence leaves a gap or its beginning open (`auto`), and no value makes it land.

    A korvai's first part has a gap too: leave both open, or say one of the two.

    wrong:  (charukeshi, jhaptal)  cadence: {sargam: S R G m P d n S' n d P m, within: 2}
    right:  (charukeshi, jhaptal)  cadence: {sargam: S R G m P d n S' n d P m, within: 4}
    """
    told = count()
    for line, cadence in _cadences(piece):
        question, cycle = cadence.question, cadence.cycle
        if cadence.answer is not None or cycle is None or is_written_out(question):
            continue
        what, why = _unsolved(cadence)
        tries = wider(piece, line, cadence) if next(told) < MOST_TRIED else []
        yield _found(piece, this, line, cadence, f"{what}{why and f': {why}'}", tries)


def _unsolved(cadence: Cadence) -> tuple[str, str]:
    """Return the sentence that no answer was found, and the reason where one is known."""
    question, cycle = cadence.question, cadence.cycle
    assert cycle is not None
    within = f"within {question.within} cycle{'s' if question.within > 1 else ''} of {cycle.name}"
    if cadence.solved.stopped:
        return (
            f"no answer was found {within} for {_said(cadence)}",
            "the search stopped at its limit",
        )
    needed = beats_needed(question, cycle)
    if needed is not None:
        window = show_beats(question.within * cycle.beats)
        why = (
            f"it takes {show_beats(needed)} up to its last stroke, and the window has only {window}"
        )
    elif never_counted(question, cycle):
        why = (
            "with no gap in halves, thirds or quarters do its parts of a beat add up to whole beats"
        )
    else:
        why = why_none(question, cycle)
    return f"{_said(cadence)} land nowhere {within}", why


@rule("advice")
def cadence_lands_early(piece: Piece, this: Rule) -> Iterator[Finding]:
    """An earlier statement also ends on a first beat: listeners may take it for the landing.

    A farmaishi chakradar does this on purpose and is not reported.

    wrong:  (charukeshi, keherwa)  cadence: {sargam: P m G R G m G S, gap: 0, begins: 2}
    right:  (charukeshi, keherwa)  cadence: {sargam: P m G, gap: 0, begins: 1}
    """
    told = count()
    for line, cadence in _cadences(piece):
        answer, cycle = cadence.answer, cadence.cycle
        if answer is None or cycle is None:
            continue
        early = answer.early_ends(cycle.beats)
        if not early:
            continue
        number = early[0]
        which = f"statement {number % cadence.question.times + 1} of {cadence.question.times}"
        if cadence.question.rounds > 1:
            which += f" in round {number // cadence.question.times + 1}"
        what = f"{which} also ends on a first beat, before the last one does"
        tries = without_early_ends(piece, line, cadence) if next(told) < MOST_TRIED else []
        yield _found(piece, this, line, cadence, what, tries)


def _cadences(piece: Piece) -> Iterator[tuple[Line, Cadence]]:
    """Each cadence of each line, in each cycle that it is played in."""
    for line in measured_lines(piece):
        for cycle in piece.cycles_of(line.name):
            here = piece.line_in(line.name, cycle)
            for cadence in here.cadences:
                if cadence.cycle == cycle:
                    yield here, cadence


def _beat(begins: Fraction | None, beats: Fraction) -> Fraction:
    return ((begins or Fraction(1)) - 1) % beats + 1


def _said(cadence: Cadence) -> str:
    """``3 statements of 5 beats with a gap of 2 beats``, as they are written."""
    question = cadence.question
    said = statements_of(question)
    said = f"{question.times} statements of {said}" if question.times > 1 else f"one of {said}"
    if question.times > 1 and question.gap is not None:
        said += f" with a gap of {show_beats(question.gap)}" if question.gap else " without a gap"
    if question.first is not None:
        said = f"{first_part_of(question)}, then {said}"
    if question.body:
        said = f"a body of {show_beats(question.body)} and {said}"
    if question.rounds > 1:
        said += f", in {question.rounds} rounds"
        if question.lead:
            said = f"{show_beats(question.lead)} once, then {said}"
        if question.round_gap:
            said += f" with {show_beats(question.round_gap)} between"
    return said


def _found(
    piece: Piece,
    this: Rule,
    line: Line,
    cadence: Cadence,
    what: str,
    tries: list[Suggestion],
) -> Finding:
    """A finding at the cadence; it says in which cycle where the piece has several, and in which
    line to try what, where the cadence comes from another."""
    assert cadence.cycle is not None
    source = line
    while source.derivation is not None:
        source = piece.lines[source.derivation.source]
    if source is not line:
        tries = [one._replace(text=f"in '{source.name}': {one.text}") for one in tries]
    place = place_of(piece, line, cadence.start, cadence.cycle)
    if len(piece.cycles) == 1:
        return this.found(cadence.spot, what, *tries, place=place)
    within = piece.called(cadence.cycle)
    found = this.found(cadence.spot, f"in {within}, {what}", *tries, place=place)
    return replace(found, cycle=within)
