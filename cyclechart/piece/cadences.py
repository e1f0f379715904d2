"""A cadence of a piece: read as it is written, worked out in its cycle, written out as notes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from cyclechart.finding import Finding, Findings, Spot
from cyclechart.piece.line_text import phrase_from, with_words
from cyclechart.piece.model import Cadence, Note, Phrase
from cyclechart.piece.shape import SCRIPTS, CadenceShape
from cyclechart.text import reading_rules
from cyclechart.text.nodes import Mapping, Scalar
from cyclechart.text.timing import SectionLine, Speed
from cyclechart.theory.cadence import Answer, Answers, Question, Statement, plainest, soonest
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact
from cyclechart.theory.spelling import Tonic

MAX_TIMES = 27
MAX_GAP = 1000
MAX_WITHIN = 64
WINDOW = 4
"""The cycles for each round, where no other window is given."""
MOST_STEPS = 20_000
"""The search for one cadence of a piece looks at so many candidates: a fraction of a second."""
MANY = 12
"""Answers that are worked out."""

_STATEMENTS = (*SCRIPTS, "line", "cadence")


@dataclass(frozen=True, kw_only=True)
class Recipe:
    """A cadence as it is written, before it is known where in which cycle it begins.

    ``lead`` is said once at its beginning, ``body`` before the statements of each round.
    """

    statement: Phrase
    lead: Phrase | None
    body: Phrase | None
    question: Question
    spot: Spot
    parts: tuple[str, ...] = ()

    @property
    def notes(self) -> int:
        """The number of its notes, written out."""
        rounds = self.question.rounds
        each = len(self.statement.notes) * self.question.times + len(_notes(self.body))
        return len(_notes(self.lead)) + rounds * each

    def with_words(self, text: Scalar) -> tuple[Recipe, list[Finding]]:
        """Return the recipe with words.

        They run once over the lead, the body and the statement, and are repeated with each.
        """
        phrases = [
            phrase for phrase in (self.lead, self.body, self.statement) if phrase is not None
        ]
        run, findings = with_words(_end_to_end(phrases), text, [])
        words = iter([note.word for note in run.notes])
        worded = iter(
            [
                replace(
                    phrase,
                    notes=tuple([replace(note, word=next(words)) for note in phrase.notes]),
                )
                for phrase in phrases
            ]
        )
        lead = next(worded) if self.lead is not None else None
        body = next(worded) if self.body is not None else None
        return replace(self, lead=lead, body=body, statement=next(worded)), findings


def _notes(phrase: Phrase | None) -> tuple[Note, ...]:
    return phrase.notes if phrase is not None else ()


class CadenceReader:
    """Reads one cadence of a piece; ``findings`` has what was wrong in it.

    ``line_named`` gives the music of another line; None with a finding where there is none.
    """

    def __init__(
        self,
        tonic: Tonic,
        line_named: Callable[[Scalar], tuple[Phrase | None, list[Finding]]],
    ) -> None:
        self.tonic, self.line_named = tonic, line_named
        self.findings = Findings()

    def read(
        self, shape: CadenceShape, node: Mapping, spot: Spot, early: Fraction
    ) -> Recipe | None:
        """Return the cadence of a node whose key stands at ``spot``; None where it has none.

        ``early`` is by how many beats it lands before the first beat (anagat).
        """
        outer, outer_node = shape, node
        rounds, round_gap, lead = 1, None, None
        inner_node = node.get("cadence")
        if shape.cadence is not None and isinstance(inner_node, Mapping):
            self.one_statement(shape, node, spot)
            rounds = self.count(shape, node, "times", 3, MAX_TIMES)
            round_gap = self.gap(shape, node)
            shape, node = shape.cadence, inner_node
            self.refuse_deeper(node)
        key = self.one_statement(shape, node, spot)
        if key is None:
            return None
        text = node.pairs[key][1]
        if not isinstance(text, Scalar) or getattr(shape, key) is None:
            return None
        statement = self.statement(key, text)
        if statement is None:
            return None
        script = statement.notes[0].script
        body = self.body(shape, node, script)
        if rounds > 1 or node is not outer_node:
            lead = self.body(outer, outer_node, script)
        onsets = tuple(note.start for note in statement.notes)
        question = Question(
            Statement(statement.length, onsets),
            times=self.count(shape, node, "times", 3, MAX_TIMES),
            gap=self.gap(shape, node),
            begins=self.begins(outer, outer_node),
            body=body.length if body else Fraction(0),
            rounds=rounds,
            round_gap=round_gap,
            within=self.count(outer, outer_node, "within", WINDOW * rounds, MAX_WITHIN),
            early=early,
            lead=lead.length if lead else Fraction(0),
        )
        if self.findings.has_errors:
            statement = replace(statement, whole=False)
        parts = (text.text.strip(),) if key == "line" else ()
        return Recipe(
            statement=statement, lead=lead, body=body, question=question, spot=spot, parts=parts
        )

    def one_statement(self, shape: CadenceShape, node: Mapping, spot: Spot) -> str | None:
        """The key that the statement stands under."""
        given = [key for key in _STATEMENTS if key in node.pairs]
        if len(given) > 1:
            what = f"the statement is written twice, as {given[0]} and as {given[1]}"
            self.wrong(node.key(given[1]).spot, what, f"keep {given[0]}")
        if not given:
            example = "sargam: P m GR G"
            self.findings.append(reading_rules.missing_key(spot, "sargam", "a cadence", example))
            return None
        return given[0]

    def statement(self, key: str, text: Scalar) -> Phrase | None:
        """Return the music of the statement: a text, or another line's."""
        if key == "line":
            phrase = self.findings.take(self.line_named(text))
        else:
            phrase = self.findings.take(phrase_from(text, key, self.tonic, "the statement"))
            if phrase is not None:
                self.refuse_section_lines(phrase)
        if phrase is None:
            return None
        if not phrase.notes:
            self.wrong(text.spot, "the statement of a cadence must have at least one note")
            return None
        return replace(phrase, section_lines=())

    def refuse_section_lines(self, phrase: Phrase) -> None:
        """Report a section line: repeated, a statement is elsewhere in the cycle each time."""
        for line in phrase.section_lines[:1]:
            what = "a statement cannot have section lines: they would fall elsewhere each time"
            self.findings.append(reading_rules.bad_cell(line.spot, what, ["take it out"]))

    def refuse_deeper(self, node: Mapping) -> None:
        """Report keys of the inner cadence that only the outermost can have."""
        for key in ("begins", "within"):
            if key in node.pairs:
                what = f"'{key}' belongs to the whole cadence, not to the inner one"
                self.wrong(node.key(key).spot, what, f"put '{key}' beside the outer 'cadence'")
        if "cadence" in node.pairs:
            what = "a chakradar contains a cadence of a phrase; that cadence cannot contain another"
            self.wrong(node.key("cadence").spot, what, "sargam: P m GR G")

    def body(self, shape: CadenceShape, node: Mapping, script: str) -> Phrase | None:
        text = node.get("body")
        if shape.body is None or not isinstance(text, Scalar):
            return None
        return self.findings.take(phrase_from(text, script, self.tonic, "the body"))

    def count(self, shape: CadenceShape, node: Mapping, key: str, plain: int, most: int) -> int:
        value: Fraction | None = getattr(shape, key)
        if value is None:
            return plain
        if value.denominator > 1 or not 1 <= value <= most:
            what = f"'{key}' must be a whole number from 1 to {most}, not {show_exact(value)}"
            self.wrong(node.pairs[key][1].spot, what, f"{key}: {plain}")
            return plain
        return int(value)

    def gap(self, shape: CadenceShape, node: Mapping) -> Fraction | None:
        """The gap that is written; None for auto, which it is without one."""
        gap = shape.gap
        if gap is not None and (not 0 <= gap <= MAX_GAP or gap.denominator > 64):
            what = (
                f"a gap must be 0 to {MAX_GAP} beats, in 64ths at the finest, not {show_exact(gap)}"
            )
            self.wrong(node.pairs["gap"][1].spot, what, "gap: auto")
            return None
        return gap

    def begins(self, shape: CadenceShape, node: Mapping) -> Fraction | None:
        """The beat that is written; whether the cycle has it is seen when it is worked out."""
        begins = shape.begins
        if begins is not None and (begins < 1 or begins.denominator > 64):
            what = (
                "a cadence must begin on beat 1 or later, in 64ths at the finest, "
                f"not on {show_exact(begins)}"
            )
            self.wrong(node.pairs["begins"][1].spot, what, "begins: auto")
            return None
        return begins

    def wrong(self, spot: Spot, what: str, *tries: str) -> None:
        self.findings.append(reading_rules.wrong_value(spot, what, tries))


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
    if is_written_out(question):
        question = replace(question, within=MAX_WITHIN)  # the window is for what is left open
    solved = _solved(question, cycle, most) if cycle else Answers(())
    answer = _taken(solved, cycle) if cycle else None
    if answer is not None:
        gap, round_gap, first = answer.gap, answer.round_gap or Fraction(0), answer.begins
    else:
        nothing = Fraction(0)
        gap, round_gap = question.gap or nothing, question.round_gap or nothing
        first = question.begins or Fraction(1)
    phrase, statements, rounds = _written_out(recipe, gap, round_gap)
    cadence = Cadence(
        cycle=cycle,
        question=question,
        answer=answer,
        solved=solved,
        start=Fraction(0),
        statements=statements,
        rounds=rounds,
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
    return (
        question.begins is not None
        and (question.times == 1 or question.gap is not None)
        and (question.rounds == 1 or question.round_gap is not None)
    )


Stretch = tuple[Fraction, Fraction]


def _written_out(
    recipe: Recipe, gap: Fraction, round_gap: Fraction
) -> tuple[Phrase, tuple[Stretch, ...], tuple[Stretch, ...]]:
    """All of its notes, and from where to where each statement and each round is."""
    question = recipe.question
    placed: list[tuple[Fraction, Phrase]] = []
    statements: list[Stretch] = []
    rounds: list[Stretch] = []
    at = Fraction(0)
    if recipe.lead is not None:
        placed.append((at, recipe.lead))
        at += recipe.lead.length
    for turn in range(question.rounds):
        at += round_gap if turn else 0
        begun = at
        if recipe.body is not None:
            said = recipe.body if not turn else replace(recipe.body, section_lines=())
            placed.append((at, said))
            at += said.length
        for number in range(question.times):
            at += gap if number else 0
            placed.append((at, recipe.statement))
            statements.append((at, at + recipe.statement.length))
            at += recipe.statement.length
        rounds.append((begun, at))
    return joined(placed, at), tuple(statements), tuple(rounds)


def joined(placed: list[tuple[Fraction, Phrase]], length: Fraction) -> Phrase:
    """Phrases at their places as one of so many beats."""
    return Phrase(
        kind=placed[0][1].kind,
        notes=tuple(_moved_notes(placed)),
        section_lines=tuple(_moved_lines(placed)),
        speeds=tuple(_moved_speeds(placed)),
        length=length,
        whole=all(phrase.whole for _, phrase in placed),
    )


def _end_to_end(phrases: list[Phrase]) -> Phrase:
    at = Fraction(0)
    placed = []
    for phrase in phrases:
        placed.append((at, phrase))
        at += phrase.length
    return joined(placed, at)


def _moved_notes(placed: list[tuple[Fraction, Phrase]]) -> Iterator[Note]:
    for at, phrase in placed:
        for note in phrase.notes:
            yield replace(note, start=note.start + at) if at else note


def _moved_lines(placed: list[tuple[Fraction, Phrase]]) -> Iterator[SectionLine]:
    for at, phrase in placed:
        for line in phrase.section_lines:
            yield replace(line, offset=line.offset + at)


def _moved_speeds(placed: list[tuple[Fraction, Phrase]]) -> Iterator[Speed]:
    for at, phrase in placed:
        for speed in phrase.speeds:
            yield replace(speed, start=speed.start + at, end=speed.end + at)
