"""The answers of the command ``cadence``, or the reason why there are none."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import click

from cyclechart.catalog.library import Library
from cyclechart.commands.cadence_no_answer import explain
from cyclechart.commands.common import cannot
from cyclechart.finding import Finding, Spot
from cyclechart.piece.phrases import length_from, statement_from
from cyclechart.text.source import Source
from cyclechart.theory.cadence import (
    Answers,
    FirstPart,
    Question,
    Statement,
    Yati,
    fill,
    follow,
    solve,
    yati_counts,
)
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats, show_exact
from cyclechart.write.terminal import cadence_table as cadences
from cyclechart.write.terminal import findings as report

USUAL_CYCLES = 4
"""The cycles for each round, where no window is given."""

USUAL_TIMES, USUAL_TURNING = 3, 5
"""The statements, where no number is given; of a yati that turns in the middle, the second."""
TURNING = ("mridanga", "damaru")

USUAL_ROWS, MOST_ROWS = 20, 10_000
"""The rows of a table."""


@dataclass(frozen=True)
class Asked:
    """The options, read; a number is in beats, a text as it was given."""

    cycle: str
    phrase: Fraction | str | None
    room: Fraction | None
    body: Fraction | str | None
    times: int | None
    gap: Fraction | None
    begins: Fraction | None
    yati: Yati | None
    by: Fraction | None
    speeds: tuple[Fraction, ...] | None
    first: tuple[Fraction, ...] | None
    first_gap: Fraction | None
    rounds: int
    round_gap: Fraction | None
    early: Fraction
    late: Fraction
    eduppu: Fraction
    within: int | None
    most: int | None
    form: str

    @property
    def statements(self) -> int:
        """The number of statements: said, or as many as the speeds or the yati want."""
        if self.times is not None:
            return self.times
        if self.speeds is not None:
            return len(self.speeds)
        return USUAL_TURNING if self.yati in TURNING else USUAL_TIMES

    @property
    def counts(self) -> tuple[int, ...]:
        """How many steps each statement is shorter than the longest."""
        return yati_counts(self.yati or "sama", self.statements)

    @property
    def step(self) -> Fraction:
        """The beats by which the second statement is longer than the first."""
        if self.yati in (None, "sama"):
            return Fraction(0)
        by = self.by or Fraction(1)
        return -by if self.yati in ("gopuccha", "damaru") else by


def ask(asked: Asked) -> int:
    """Print the answers and return the exit status."""
    cycle = cycle_named(asked.cycle)
    refusal = _refusal(asked, cycle)
    if refusal:
        raise click.UsageError(refusal)
    body, wrong = _body(asked)
    statement, wrong_too = _statement(asked)
    if wrong or wrong_too:
        texts = {"--body": asked.body, "--phrase": asked.phrase}
        sources = {name: Source.of(name, str(text)) for name, text in texts.items()}
        click.echo(report.as_text([*wrong, *wrong_too], sources), err=True)
        return 1
    if statement is not None:
        statement = _first_statement(statement, asked)
    question = Question(
        statement or Statement.of_beats(Fraction(1)),
        asked.statements,
        asked.gap,
        asked.begins,
        body,
        asked.rounds,
        asked.round_gap,
        asked.within or USUAL_CYCLES * asked.rounds,
        asked.early - asked.late,
        asked.step,
        turns=asked.yati in TURNING,
        speeds=asked.speeds or (),
        first=FirstPart(asked.first, asked.first_gap) if asked.first else None,
        eduppu=asked.eduppu,
    )
    search = _search(asked)
    answers = search(question, cycle)
    _print(answers, asked, cycle)
    if not answers.found:
        of = "phrase" if asked.phrase is not None else "body" if asked.body else "first part"
        for line in explain(question, cycle, search, of, asked.room):
            click.echo(line, err=True)
    return 0 if answers.found else 1


def _search(asked: Asked) -> Callable[[Question, Cycle], Answers]:
    """Return the question: for a phrase, a room or a body."""
    if asked.phrase is not None:
        return solve
    if asked.room is not None:
        room = asked.room
        return lambda question, cycle: fill(question, room, cycle)
    return follow


def _print(answers: Answers, asked: Asked, cycle: Cycle) -> None:
    found = answers.found
    if asked.form == "json":
        kept = found if asked.most is None else found[: asked.most]
        click.echo(json.dumps(cadences.as_objects(kept), ensure_ascii=False, indent=2))
    elif found:
        kept = found[: asked.most or USUAL_ROWS]
        click.echo(cadences.as_table(kept, cycle))
        left = len(found) - len(kept)
        if left:
            more = "1 more answer" if left == 1 else f"{left:,} more answers"
            all_of_them = "--format json" if len(found) > MOST_ROWS else f"--most {len(found)}"
            click.echo(f"{more}; {all_of_them} shows all.")
    if answers.stopped:
        click.echo("The search stopped early; give a gap or a beginning to narrow it.", err=True)


def cycle_named(name: str) -> Cycle:
    """A cycle of the catalogue or of ./shared; a usage error where there is none."""
    try:
        library = Library.beside(Path.cwd())
    except OSError as error:
        raise cannot(error, Path("shared")) from error
    cycle, findings = library.cycle(name, Spot("CYCLE", 1, 1, len(name)))
    if cycle is None:
        raise click.UsageError("\n".join(_no_cycle(name, findings, library)))
    return cycle


def _no_cycle(name: str, findings: list[Finding], library: Library) -> Iterator[str]:
    """Return the message on an unknown cycle, with the nearest names or a definition to write."""
    unknown = [one for one in findings if one.rule == "unknown-name"]
    if unknown and library.unprinted(name) is None:
        close = ", ".join(suggestion for one in unknown for suggestion in one.tries)
        yield f"{unknown[0].message}{f'; did you mean {close}?' if close else ''}"
        return
    for finding in findings:
        yield finding.message
        for number, suggestion in enumerate(finding.tries):
            yield f"  {'try' if number == 0 else ' or'}: {suggestion}"


def _refusal(asked: Asked, cycle: Cycle) -> str:
    """Return the usage error of a question in one sentence; "" if there is none."""
    return _too_little_or_much(asked) or _out_of_place(asked, cycle)


def _too_little_or_much(asked: Asked) -> str:
    """Return the error on options that contradict each other or have no use."""
    if asked.phrase is not None and asked.room is not None:
        return "give either --phrase or --room, not both: --room searches for its phrases"
    if asked.phrase is None and asked.room is None and asked.body is None and asked.first is None:
        return "give --phrase, or --room, or --body, or --first"
    if asked.early and asked.late:
        return "give either --early or --late, not both"
    if asked.statements == 1 and asked.gap is not None:
        return f"--gap {show_exact(asked.gap)} needs more than one statement, not --times 1"
    return _shape_refused(asked) or _parts_refused(asked)


def _shape_refused(asked: Asked) -> str:
    """Return the error on a yati or speeds that say nothing, or two things."""
    if asked.by is not None and asked.yati in (None, "sama"):
        return f"--by {show_exact(asked.by)} needs a --yati whose statements differ"
    if asked.speeds is not None and asked.yati is not None:
        return "give either --yati or --speeds, not both"
    if asked.speeds is not None and len(asked.speeds) != asked.statements:
        return f"--speeds has {len(asked.speeds)} of them, and --times says {asked.statements}"
    least = 3 if asked.yati in TURNING else 2
    if asked.yati is not None and asked.statements < least:
        more = "three statements" if least == 3 else "two statements"
        return f"--yati {asked.yati} needs at least {more}, not --times {asked.statements}"
    return ""


def _parts_refused(asked: Asked) -> str:
    """Return the error on rounds and first parts that do not go together."""
    if asked.first is None and asked.first_gap is not None:
        return f"--first-gap {show_exact(asked.first_gap)} needs the phrases of --first"
    if asked.first is not None and asked.rounds > 1 and asked.first_gap is None:
        return "with --rounds, say the gap of the first part too: --first-gap 0"
    if asked.rounds == 1 and asked.round_gap is not None:
        gap = show_exact(asked.round_gap)
        return f"--round-gap {gap} needs more than one round; give --rounds 3"
    return ""


def _out_of_place(asked: Asked, cycle: Cycle) -> str:
    """Return the error on numbers that do not fit the cycle or the room."""
    beats = show_beats(cycle.beats)
    if asked.begins is not None and asked.begins >= cycle.beats + 1:
        return (
            f"--begins {show_exact(asked.begins)} is past the last beat: {cycle.name} has {beats}"
        )
    for name, value in (("early", asked.early), ("late", asked.late), ("eduppu", asked.eduppu)):
        if value >= cycle.beats:
            return f"--{name} {show_exact(value)} is a cycle or more: {cycle.name} has {beats}"
    if asked.room is None:
        return ""
    room = show_exact(asked.room)
    cycles = -(-asked.room // cycle.beats)
    if asked.begins is not None:
        begins = show_exact((asked.eduppu - asked.room) % cycle.beats + 1)
        said = show_exact(asked.begins)
        return f"--room {room} always begins on beat {begins}; leave out --begins {said}"
    if asked.within is not None and cycles > asked.within:
        within = asked.within
        return f"--room {room} takes {cycles} cycles of {beats}, more than --within {within}"
    return ""


def _body(asked: Asked) -> tuple[Fraction, list[Finding]]:
    if isinstance(asked.body, str):
        length, wrong = length_from(asked.body, "--body")
        return length or Fraction(0), wrong
    return asked.body or Fraction(0), []


def _statement(asked: Asked) -> tuple[Statement | None, list[Finding]]:
    if isinstance(asked.phrase, str):
        return statement_from(asked.phrase, "--phrase")
    return (None, []) if asked.phrase is None else (Statement.of_beats(asked.phrase), [])


def _first_statement(longest: Statement, asked: Asked) -> Statement:
    """Return the first statement of a yati whose longest is given; a usage error where the
    shortest would lose its last stroke."""
    by = abs(asked.step)
    taken = max(asked.counts) * by
    if taken > longest.last:
        raise click.UsageError(
            f"--by {show_exact(by)} is too much: the shortest of {asked.statements} statements "
            f"would be {show_beats(taken)} shorter, but the last stroke is only "
            f"{show_beats(longest.last)} into the phrase"
        )
    return longest.without_front(asked.counts[0] * by) if taken else longest
