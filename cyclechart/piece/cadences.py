"""A cadence of a piece: its recipe as read, worked out in its cycle, written out as notes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from cyclechart.finding import Finding, Spot
from cyclechart.piece.line import Cadence
from cyclechart.piece.line_text import with_words
from cyclechart.piece.note import Note, Phrase
from cyclechart.piece.phrase_edits import at_speed, end_to_end, joined, without_front
from cyclechart.text.nodes import Scalar
from cyclechart.theory.cadence import Answer, Answers, Question, plainest, soonest
from cyclechart.theory.cycle import Cycle

MAX_WITHIN = 64
MOST_STEPS = 20_000
"""The search for one cadence of a piece looks at so many candidates: a fraction of a second."""
MANY = 12
"""Answers that are worked out."""


@dataclass(frozen=True, kw_only=True)
class Recipe:
    """A cadence as it is written, before it is known where in which cycle it begins.

    ``statement`` is the longest of a yati. ``lead`` is said once at its beginning, ``body`` before
    the statements of each round, then the ``first`` part of a korvai: its phrases are ``first``
    without so many beats in front as ``first_cuts`` says.
    """

    statement: Phrase
    lead: Phrase | None
    body: Phrase | None
    question: Question
    spot: Spot
    parts: tuple[str, ...] = ()
    first: Phrase | None = None
    first_cuts: tuple[Fraction, ...] = ()

    @property
    def statements(self) -> tuple[Phrase, ...]:
        """The statements of a round, cut and sped up as its yati and its speeds say."""
        question, most = self.question, max(self.question.changes)
        return tuple(
            at_speed(without_front(self.statement, most - change), rate)
            for change, rate in zip(question.changes, question.rates, strict=True)
        )

    @property
    def first_phrases(self) -> tuple[Phrase, ...]:
        """The phrases of the first part."""
        first = self.first
        if first is None:
            return ()
        return tuple(without_front(first, cut) for cut in self.first_cuts)

    @property
    def notes(self) -> int:
        """The number of its notes, written out."""
        rounds = self.question.rounds
        each = len(self.statement.notes) * self.question.times + len(_notes(self.body))
        each += len(_notes(self.first)) * len(self.first_cuts)
        return len(_notes(self.lead)) + rounds * each

    def with_words(self, texts: list[Scalar]) -> tuple[Recipe, list[Finding]]:
        """Return the recipe with words.

        They run once over the lead, the body, the first part and the statement, and are repeated
        with each.
        """
        parts = (self.lead, self.body, self.first, self.statement)
        phrases = [phrase for phrase in parts if phrase is not None]
        run, findings = with_words(end_to_end(phrases), texts, [])
        words = iter(run.notes)
        worded = iter(
            [
                replace(
                    phrase,
                    notes=tuple([_sung_as(next(words), note) for note in phrase.notes]),
                )
                for phrase in phrases
            ]
        )
        lead = next(worded) if self.lead is not None else None
        body = next(worded) if self.body is not None else None
        first = next(worded) if self.first is not None else None
        return replace(self, lead=lead, body=body, first=first, statement=next(worded)), findings


def _sung_as(other: Note, note: Note) -> Note:
    """A note with the words of another."""
    return replace(note, word=other.word, verses=other.verses)


def _notes(phrase: Phrase | None) -> tuple[Note, ...]:
    return phrase.notes if phrase is not None else ()


@lru_cache(maxsize=256)
def _solved(question: Question, cycle: Cycle, most: int) -> Answers:
    """A chain, and a piece read again, puts the same question again."""
    solved = plainest(question, cycle, MANY, most)
    if solved.found or not solved.stopped:
        return solved
    # In a wide window odd parts of a beat may give more small gaps than are looked at.
    cycles = soonest(question, cycle, question.within, most)
    return solved if cycles is None else plainest(replace(question, within=cycles), cycle, MANY)


def work_out(
    recipe: Recipe,
    cycle: Cycle | None,
    begins: Fraction | None = None,
    most: int = MOST_STEPS,
) -> tuple[Phrase, Fraction, Cadence]:
    """A recipe written out in a cycle: its music, the beat it begins on, and what it is.

    ``begins`` is the beat (from 1) where a chain comes to it. Without a cycle, and where nothing
    lands, it stands as written, auto gaps being none. The search looks at ``most`` candidates.
    """
    question = recipe.question
    if begins is not None:
        question = replace(question, begins=begins)
    if cycle is not None and question.eduppu >= cycle.beats:
        question = replace(question, eduppu=question.eduppu % cycle.beats)
    if is_written_out(question):
        question = replace(question, within=MAX_WITHIN)  # the window is for what is left open
    solved = _solved(question, cycle, most) if cycle else Answers(())
    answer = _taken(solved, cycle) if cycle else None
    if answer is not None:
        gaps: tuple[Fraction | None, ...] = (answer.gap, answer.round_gap, answer.first_gap)
        first = answer.begins
    else:
        said = question.first.gap if question.first is not None else None
        gaps = (question.gap, question.round_gap, said)
        first = question.begins or question.eduppu + 1
    phrase, statements, rounds, first_part = _written_out(recipe, *gaps)
    cadence = Cadence(
        cycle=cycle,
        question=question,
        answer=answer,
        solved=solved,
        start=Fraction(0),
        statements=statements,
        rounds=rounds,
        first_part=first_part,
        spot=recipe.spot,
        chained=begins is not None,
    )
    return phrase, first, cadence


def _taken(solved: Answers, cycle: Cycle) -> Answer | None:
    """The plainest answer in which only the last statement ends on a first beat; else the first."""
    clear = (answer for answer in solved.found if not answer.early_ends(cycle.beats))
    return next(clear, solved.found[0] if solved.found else None)


def is_written_out(question: Question) -> bool:
    """Return whether neither its beginning nor a gap is left open."""
    return question.begins is not None and question.gaps_said


Stretch = tuple[Fraction, Fraction]


def _written_out(
    recipe: Recipe, gap: Fraction | None, round_gap: Fraction | None, first_gap: Fraction | None
) -> tuple[Phrase, tuple[Stretch, ...], tuple[Stretch, ...], tuple[Stretch, ...]]:
    """All of its notes, and from where to where each statement, each round, and each phrase of its
    first part is."""
    layout = _Layout(recipe.lead)
    nothing = Fraction(0)
    for turn in range(recipe.question.rounds):
        layout.at += (round_gap or nothing) if turn else 0
        begun = layout.at
        if recipe.body is not None:
            layout.add(recipe.body if not turn else replace(recipe.body, section_lines=()))
        for phrase in recipe.first_phrases:
            layout.first_part.append(layout.add(phrase))
            layout.at += first_gap or nothing
        for number, statement in enumerate(recipe.statements):
            layout.at += (gap or nothing) if number else 0
            layout.statements.append(layout.add(statement))
        layout.rounds.append((begun, layout.at))
    phrase = joined(layout.placed, layout.at)
    return phrase, tuple(layout.statements), tuple(layout.rounds), tuple(layout.first_part)


class _Layout:
    """The parts of a cadence, set one after the other."""

    def __init__(self, lead: Phrase | None) -> None:
        self.at = Fraction(0)
        self.placed: list[tuple[Fraction, Phrase]] = []
        self.statements: list[Stretch] = []
        self.rounds: list[Stretch] = []
        self.first_part: list[Stretch] = []
        if lead is not None:
            self.add(lead)

    def add(self, phrase: Phrase) -> Stretch:
        """Add a phrase, and return from where to where it is."""
        start = self.at
        self.placed.append((start, phrase))
        self.at += phrase.length
        return start, self.at
