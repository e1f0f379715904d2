"""The reader of a cadence: what is written under its keys, as a recipe."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from cyclechart.finding import Finding, Findings, Spot, Suggestion
from cyclechart.piece.cadences import MAX_WITHIN, Recipe
from cyclechart.piece.line_text import phrase_from
from cyclechart.piece.note import Phrase
from cyclechart.piece.phrase_edits import without_front
from cyclechart.piece.shape import SCRIPTS, CadenceShape, FirstPartShape
from cyclechart.text import reading_rules
from cyclechart.text.node_edits import with_key
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.theory.cadence import FirstPart, Question, Statement, Yati, yati_counts
from cyclechart.theory.exact import parse_exact, parse_many, show_beats, show_exact
from cyclechart.theory.mode import Mode
from cyclechart.theory.spelling import Tonic

MAX_TIMES = 27
MAX_GAP = 1000
WINDOW = 4
"""The cycles for each round, where no other window is given."""
FASTEST = 16
FINEST = 64

_STATEMENTS = (*SCRIPTS, "line", "cadence")
_PHRASES = (*SCRIPTS, "line")
TURNING: tuple[Yati, ...] = ("mridanga", "damaru")


class _Form(NamedTuple):
    """How often a phrase is said, and in which shape: the beats that each is without in front."""

    yati: Yati
    by: Fraction
    cuts: tuple[Fraction, ...]
    speeds: tuple[Fraction, ...] = ()

    @property
    def step(self) -> Fraction:
        """The beats by which the second is longer than the first."""
        if self.yati == "sama":
            return Fraction(0)
        return -self.by if self.yati in ("gopuccha", "damaru") else self.by


class CadenceReader:
    """Reads one cadence of a piece; ``findings`` has what was wrong in it.

    ``line_named`` gives the music of another line; None with a finding where there is none.
    """

    def __init__(
        self,
        tonic: Tonic,
        mode: Mode,
        line_named: Callable[[Scalar], tuple[Phrase | None, list[Finding]]],
    ) -> None:
        self.tonic, self.mode, self.line_named = tonic, mode, line_named
        self.findings = Findings()

    def read(
        self,
        shape: CadenceShape,
        node: Mapping,
        spot: Spot,
        early: Fraction,
        eduppu: Fraction,
    ) -> Recipe | None:
        """Return the cadence of a node whose key stands at ``spot``; None where it has none.

        ``early`` is by how many beats it lands before the first beat (anagat), or before its
        ``eduppu``, which is so much after it.
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
        form = self.form(shape, node, statement)
        shortest = without_front(statement, form.cuts[0])
        onsets = tuple(note.start for note in shortest.notes)
        second = without_front(statement, form.cuts[1]) if form.step else None
        first, first_form, first_gap = self.first(shape, node, statement, rounds)
        question = Question(
            Statement(shortest.length, onsets),
            times=len(form.cuts),
            gap=self.gap(shape, node),
            begins=self.begins(outer, outer_node),
            body=body.length if body else Fraction(0),
            rounds=rounds,
            round_gap=round_gap,
            within=self.count(outer, outer_node, "within", WINDOW * rounds, MAX_WITHIN),
            early=early,
            step=form.step,
            lead=lead.length if lead else Fraction(0),
            turns=form.yati in TURNING,
            speeds=form.speeds,
            first=_lengths(first, first_form, first_gap),
            eduppu=eduppu,
            second_lead=second.notes[0].start if second is not None else None,
        )
        if self.findings.has_errors:
            statement = replace(statement, whole=False)
        parts = [text.text.strip()] if key == "line" else []
        below = node.get("first")
        if isinstance(below, Mapping) and isinstance(named := below.get("line"), Scalar):
            parts.append(named.text.strip())
        return Recipe(
            statement=statement,
            lead=lead,
            body=body,
            question=question,
            spot=spot,
            parts=tuple(parts),
            first=first,
            first_cuts=first_form.cuts if first is not None else (),
        )

    def first(
        self, shape: CadenceShape, node: Mapping, statement: Phrase, rounds: int
    ) -> tuple[Phrase | None, _Form, Fraction | None]:
        """Return the phrase of a korvai's first part, how it is said, and its gap."""
        nothing = _Form("sama", Fraction(0), (Fraction(0),))
        part, below = shape.first, node.get("first")
        if part is None or not isinstance(below, Mapping):
            return None, nothing, None
        key = self.one_statement(part, below, node.key("first").spot)
        text = below.pairs[key][1] if key is not None else None
        if key is None or not isinstance(text, Scalar) or getattr(part, key) is None:
            return None, nothing, None
        phrase = self.statement(key, text)
        if phrase is None:
            return None, nothing, None
        if phrase.kind != statement.kind:
            what = (
                f"the first part is a line of {phrase.kind}, and the statement of {statement.kind}"
            )
            self.wrong(text.spot, what)
            return None, nothing, None
        gap = self.gap(part, below)
        if gap is None and rounds > 1:
            what = "in a chakradar the gap of the first part cannot be found: say it"
            said = Suggestion("gap: 0", with_key(below, "gap", "0"))
            self.wrong(node.key("first").spot, what, said)
            gap = Fraction(0)
        return phrase, self.form(part, below, phrase), gap

    def form(self, shape: CadenceShape | FirstPartShape, node: Mapping, phrase: Phrase) -> _Form:
        """Return how often a phrase is said, and in which yati or at which speeds."""
        yati: Yati = shape.yati or "sama"
        speeds = self.speeds(node)
        usual = len(speeds) or (5 if yati in TURNING else 3)
        times = self.count(shape, node, "times", usual, MAX_TIMES)
        if speeds and times != len(speeds):
            what = f"there are {len(speeds)} speeds, and 'times' says {times} statements"
            self.wrong(node.pairs["times"][1].spot, what, f"times: {len(speeds)}")
            times = len(speeds)
        if speeds and shape.yati is not None:
            self.wrong(node.key("yati").spot, "a cadence has a yati or speeds, not both")
            yati = "sama"
        if times < (least := 3 if yati in TURNING else 1 if yati == "sama" else 2):
            what = f"{yati} needs at least {least} statements, not {times}"
            self.wrong(node.key("yati").spot, what, f"times: {least}")
            yati = "sama"
        by = self.by(shape, node, yati)
        counts = yati_counts(yati, times)
        last = phrase.notes[-1].start
        if by * max(counts) > last:
            by = self.too_much(node, times, by, max(counts), last)
        return _Form(yati, by, tuple(by * count for count in counts), speeds)

    def by(self, shape: CadenceShape | FirstPartShape, node: Mapping, yati: Yati) -> Fraction:
        """Return the beats by which statements of a yati differ."""
        by = shape.by
        if yati == "sama":
            if by is not None and shape.yati in (None, "sama"):
                what = "'by' needs a yati whose phrases differ"
                self.wrong(node.key("by").spot, what, f"yati: gopuccha, by: {show_exact(by)}")
            return Fraction(0)
        if by is None:
            return Fraction(1)
        if not 0 < by <= MAX_GAP or by.denominator > FINEST:
            what = f"'by' must be above 0, in {FINEST}ths at the finest, not {show_exact(by)}"
            self.wrong(node.pairs["by"][1].spot, what, "by: 1")
            return Fraction(0)
        return by

    def too_much(
        self, node: Mapping, times: int, by: Fraction, most: int, last: Fraction
    ) -> Fraction:
        """Report a yati whose shortest statement would lose its last stroke; return none."""
        what = (
            f"the shortest of {times} would be {show_beats(by * most)} shorter, but the last "
            f"stroke is only {show_beats(last)} into the phrase"
        )
        halves = last * 2 // most
        fits = Fraction(halves, 2) if halves else last / most
        tries = [f"by: {show_exact(fits)}"] if fits else []
        key = "by" if "by" in node.pairs else "yati"
        self.wrong(node.pairs[key][1].spot, what, *tries)
        return Fraction(0)

    def speeds(self, node: Mapping) -> tuple[Fraction, ...]:
        """Return the speeds written; () for none."""
        below = node.get("speeds")
        if below is None:
            return ()
        try:
            speeds = _numbers(below)
        except ValueError as error:
            self.wrong(below.spot, f"speeds: {error}", "speeds: 1 3/2 2")
            return ()
        if not 1 <= len(speeds) <= MAX_TIMES:
            self.wrong(below.spot, f"there must be 1 to {MAX_TIMES} speeds", "speeds: 1 3/2 2")
            return ()
        for speed in speeds:
            if not 0 < speed <= FASTEST or speed.denominator > FINEST:
                what = f"a speed must be above 0 and at most {FASTEST}, not {show_exact(speed)}"
                self.wrong(below.spot, what, "speeds: 1 3/2 2")
                return ()
        return speeds

    def one_statement(
        self, shape: CadenceShape | FirstPartShape, node: Mapping, spot: Spot
    ) -> str | None:
        """The key that the statement stands under."""
        whole = isinstance(shape, CadenceShape)
        given = [key for key in (_STATEMENTS if whole else _PHRASES) if key in node.pairs]
        if len(given) > 1:
            what = f"the statement is written twice, as {given[0]} and as {given[1]}"
            self.wrong(node.key(given[1]).spot, what, f"keep {given[0]}")
        if not given:
            example = "sargam: P m GR G"
            self.findings.append(reading_rules.missing_key(spot, "sargam", shape.where, example))
            return None
        return given[0]

    def statement(self, key: str, text: Scalar) -> Phrase | None:
        """Return the music of the statement: a text, or another line's."""
        if key == "line":
            phrase = self.findings.take(self.line_named(text))
        else:
            phrase = self.findings.take(self.phrase(text, key, "the statement"))
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
        return self.findings.take(self.phrase(text, script, "the body"))

    def phrase(self, text: Scalar, key: str, called: str) -> tuple[Phrase | None, list[Finding]]:
        """Return the music of a text of the cadence."""
        return phrase_from(text, key, self.tonic, called, mode=self.mode)

    def count(
        self,
        shape: CadenceShape | FirstPartShape,
        node: Mapping,
        key: str,
        plain: int,
        most: int,
    ) -> int:
        value: Fraction | None = getattr(shape, key)
        if value is None:
            return plain
        if value.denominator > 1 or not 1 <= value <= most:
            what = f"'{key}' must be a whole number from 1 to {most}, not {show_exact(value)}"
            self.wrong(node.pairs[key][1].spot, what, f"{key}: {plain}")
            return plain
        return int(value)

    def gap(self, shape: CadenceShape | FirstPartShape, node: Mapping) -> Fraction | None:
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

    def wrong(self, spot: Spot, what: str, *tries: str | Suggestion) -> None:
        self.findings.append(reading_rules.wrong_value(spot, what, tries))


def _lengths(first: Phrase | None, form: _Form, gap: Fraction | None) -> FirstPart | None:
    """Return a first part by its lengths."""
    if first is None:
        return None
    return FirstPart(tuple(first.length - cut for cut in form.cuts), gap)


def _numbers(below: Node) -> tuple[Fraction, ...]:
    """Return the numbers of a text or a list; ValueError where there are none."""
    if isinstance(below, Scalar):
        return parse_many(below.text)
    items = below.items if isinstance(below, Sequence) else ()
    if not items or not all(isinstance(item, Scalar) for item in items):
        raise ValueError("write the speeds one after the other")
    return tuple(parse_exact(item.text) for item in items if isinstance(item, Scalar))
