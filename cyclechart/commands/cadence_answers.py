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
from cyclechart.theory.cadence import Answers, Question, Statement, fill, follow, solve
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats, show_exact
from cyclechart.write.terminal import cadence_table as cadences
from cyclechart.write.terminal import findings as report

USUAL_CYCLES = 4
"""The cycles for each round, where no window is given."""

USUAL_ROWS, MOST_ROWS = 20, 10_000
"""The rows of a table."""


@dataclass(frozen=True)
class Asked:
    """The options, read; a number is in beats, a text as it was given."""

    cycle: str
    phrase: Fraction | str | None
    room: Fraction | None
    body: Fraction | str | None
    times: int
    gap: Fraction | None
    begins: Fraction | None
    grows: Fraction | None
    shrinks: Fraction | None
    rounds: int
    round_gap: Fraction | None
    early: Fraction
    within: int | None
    most: int | None
    form: str

    @property
    def step(self) -> Fraction:
        """The beats by which each statement is longer than the one before."""
        return (self.grows or Fraction(0)) - (self.shrinks or Fraction(0))


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
    question = Question(
        statement or Statement.of_beats(Fraction(1)),
        asked.times,
        asked.gap,
        asked.begins,
        body,
        asked.rounds,
        asked.round_gap,
        asked.within or USUAL_CYCLES * asked.rounds,
        asked.early,
        asked.step,
    )
    if statement is not None and not question.sound:
        raise click.UsageError(_shrunk_away(question))
    search = _search(asked)
    answers = search(question, cycle)
    _print(answers, asked, cycle)
    if not answers.found:
        of = "phrase" if asked.phrase is not None else "body"
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
    if asked.phrase is None and asked.room is None and asked.body is None:
        return "give --phrase, or --room, or --body"
    if asked.grows is not None and asked.shrinks is not None:
        return "give either --grows or --shrinks, not both"
    if asked.times == 1:
        for name, value in (("gap", asked.gap), ("grows", asked.grows), ("shrinks", asked.shrinks)):
            if value is not None:
                return f"--{name} {show_exact(value)} needs more than one statement, not --times 1"
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
    if asked.early >= cycle.beats:
        return f"--early {show_exact(asked.early)} is a cycle or more: {cycle.name} has {beats}"
    if asked.room is None:
        return ""
    room = show_exact(asked.room)
    cycles = -(-asked.room // cycle.beats)
    if asked.begins is not None:
        begins = show_exact(cycles * cycle.beats - asked.room + 1)
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


def _shrunk_away(question: Question) -> str:
    step, last = -question.step, question.statement.last
    taken = (question.times - 1) * step
    return (
        f"--shrinks {show_exact(step)} is too much: the last of {question.times} statements would "
        f"be {show_beats(taken)} shorter, but its last stroke is only {show_beats(last)} into "
        "the phrase"
    )
