"""Cadences that land, as a table for a person and as JSON for a program."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from typing import Any

from cyclechart.theory.cadence import Answer
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats, show_exact

WIDEST = 100
"""The most characters of a row; longer last strokes continue below, a round or two a line."""

FILLED = (
    "The gap is added after each statement. The last stroke {fills}, so the gap is also the "
    "silence; apart, from that stroke to the next statement's first, is {lasts} more. Teachers use "
    "both counts."
)
HELD = (
    "The gap is added after each statement as it is written. Silence is the rest from its last "
    "stroke, which sounds for {lasts}, to the next statement's first; apart, from stroke to "
    "stroke, is {lasts} more. Teachers use both counts."
)
FARMAISHI = """\
farmaishi: statement 1 of round 1, 2 of round 2 and 3 of round 3 end on first beats."""
KAMALI = """\
kamali: stroke 1 of statement 1 of round 1, 2 of 2 of 2 and so on are on first beats; a phrase
given in beats is assumed to close with one stroke a beat, as many as there are rounds."""

APART = "  "
ROUNDS_APART, GOES_ON = " · ", " ·"

Number = Fraction | None


def as_table(answers: Sequence[Answer], cycle: Cycle) -> str:
    """The answers in columns, with notes on the counts; a column without content is left out.

    Whole numbers and fractions are aligned. A last stroke on a first beat (or on
    the eduppu) is marked ×, rounds are separated by ·.
    """
    columns = [column for column in _columns(answers) if column]
    kinds = _lined_up("kind", [_kind(answer) for answer in answers])
    ends = _ends(answers, cycle, WIDEST - sum(len(c[0]) + len(APART) for c in (*columns, kinds)))
    lines = []
    for number in range(len(answers) + 1):
        row = [column[number] for column in (*columns, kinds)]
        first, *more = ends[number]
        before = APART.join([*row, ""])
        lines.append((before + first).rstrip())
        lines += [" " * len(before) + rest for rest in more]
    return "\n".join([*lines, "", *_notes(answers, cycle)])


def _columns(answers: Sequence[Answer]) -> Iterator[list[str]]:
    """A head and a cell an answer, all of one width; cells of a column may all be empty."""

    def numbers(head: str, of: Callable[[Answer], Number]) -> list[str]:
        values = [of(answer) for answer in answers]
        return [] if all(value is None for value in values) else _numbers(head, values)

    yield numbers("begins", lambda answer: answer.begins)
    if any(answer.phrases for answer in answers):
        shown = [_listed(a.phrases or (a.phrase,), _separator(answers)) for a in answers]
        yield _lined_up("phrases", shown)
    else:
        yield numbers("phrase", lambda answer: answer.phrase)
    if any(answer.kind != "single" for answer in answers):
        yield numbers("gap", lambda answer: answer.gap)
        if not _gap_is_silence(answers):
            yield numbers("silence", lambda answer: answer.silence)
        yield numbers("apart", lambda answer: answer.apart)
    yield numbers("first gap", lambda answer: answer.first_gap)
    yield numbers("round gap", lambda answer: answer.round_gap)
    yield numbers("cycles", lambda answer: Fraction(answer.cycles))


def _gap_is_silence(answers: Sequence[Answer]) -> bool:
    """Return whether gap and silence are the same in all answers, so that one column says both."""
    return all(answer.gap == answer.silence for answer in answers)


def _numbers(head: str, values: Sequence[Number]) -> list[str]:
    """A column of numbers, wholes to the right and their fractions beside them."""
    parts = [("", "") if value is None else _parts(value) for value in values]
    whole = max(len(part[0]) for part in parts)
    rest = max(len(part[1]) for part in parts)
    cells = [f"{left.rjust(whole)}{right.ljust(rest)}" for left, right in parts]
    width = max(len(head), whole + rest)
    return [head.rjust(width), *(cell.rjust(width) for cell in cells)]


def _parts(value: Fraction) -> tuple[str, str]:
    shown = show_exact(value)
    if value.denominator == 1:
        return shown, ""
    if " " not in shown:
        return "", f" {shown}"
    whole, rest = shown.split(" ")
    return whole, f" {rest}"


def _lined_up(head: str, cells: Sequence[str]) -> list[str]:
    """A column of words."""
    width = max(map(len, (head, *cells)))
    return [head.ljust(width), *(cell.ljust(width) for cell in cells)]


def _kind(answer: Answer) -> str:
    return answer.kind if answer.lands == "sam" else f"{answer.kind}, {answer.lands}"


def _separator(answers: Sequence[Answer]) -> str:
    """The separator of numbers in a list: a comma where one has a fraction, and so a space."""
    broken = any(n.denominator > 1 for a in answers for n in (*a.ends, *a.phrases))
    return ", " if broken else " "


def _listed(values: Sequence[Fraction], separator: str) -> str:
    return separator.join(map(show_exact, values))


def _ends(answers: Sequence[Answer], cycle: Cycle, width: int) -> list[list[str]]:
    """The head, and for each answer the lines that its last strokes take in so many characters."""
    separator = _separator(answers)
    cells = [["last strokes on"]]
    for answer in answers:
        shown = [_counted(end, answer, cycle) for end in answer.ends]
        rounds = [separator.join(part) for part in _rounds(shown, answer)]
        cells.append(_wrapped(rounds, width))
    return cells


def _wrapped(rounds: list[str], width: int) -> list[str]:
    """Rounds in lines of at most so many characters; a line that goes on ends with the ·."""
    whole = ROUNDS_APART.join(rounds)
    if len(whole) <= width:
        return [whole]
    lines = [rounds[0]]
    for text in rounds[1:]:
        longer = lines[-1] + ROUNDS_APART + text
        if len(longer) <= width - len(GOES_ON):
            lines[-1] = longer
        else:
            lines.append(text)
    return [*(line + GOES_ON for line in lines[:-1]), lines[-1]]


def _rounds(shown: list[str], answer: Answer) -> Iterator[list[str]]:
    """The last strokes of each round."""
    size = len(shown) // answer.rounds
    for start in range(0, len(shown), size):
        yield shown[start : start + size]


def _counted(end: Fraction, answer: Answer, cycle: Cycle) -> str:
    sign = "×" if answer.is_home(end, cycle.beats) else ""
    return f"{show_exact(end)}{sign}"


def _notes(answers: Sequence[Answer], cycle: Cycle) -> Iterator[str]:
    """The lines that explain how the table counts."""
    beats = f"{cycle.name}, {show_beats(cycle.beats)}"
    home = "a first beat"
    if answers[0].eduppu:
        home = f"the eduppu, {show_beats(answers[0].eduppu)} after a first beat"
    first = f"Count 1 is the first beat of the cycle it begins in ({beats}); × is {home}."
    yield textwrap.fill(first, WIDEST)
    kinds = {answer.kind for answer in answers}
    if kinds != {"single"}:
        yield _counts(answers)
    if "farmaishi" in kinds:
        yield FARMAISHI
    if "kamali" in kinds:
        yield KAMALI


def _counts(answers: Sequence[Answer]) -> str:
    """The lines that explain gap, silence and apart, and how long a last stroke counts."""
    (sounds,) = {answer.apart - answer.silence for answer in answers}
    lasts = {Fraction(1): "a beat", Fraction(1, 2): "half a beat"}.get(
        sounds, f"{show_exact(sounds)} of a beat"
    )
    fills = "fills its last beat" if sounds == 1 else f"sounds for {lasts}, to its statement's end"
    text = FILLED if _gap_is_silence(answers) else HELD
    return textwrap.fill(text.format(fills=fills, lasts=lasts), WIDEST)


def as_objects(answers: Sequence[Answer]) -> list[dict[str, Any]]:
    """The answers for JSON, exact numbers as text; ``phrases`` where statements differ."""
    return [_object(answer) for answer in answers]


def _object(answer: Answer) -> dict[str, Any]:
    made: dict[str, Any] = {
        "begins": show_exact(answer.begins),
        "gap": show_exact(answer.gap),
        "round_gap": None if answer.round_gap is None else show_exact(answer.round_gap),
        "phrase": show_exact(answer.phrase),
        "cycles": answer.cycles,
        "ends": [show_exact(end) for end in answer.ends],
        "kind": answer.kind,
        "lands": answer.lands,
    }
    if answer.phrases:
        made["phrases"] = [show_exact(length) for length in answer.phrases]
    if answer.first_gap is not None:
        made["first_gap"] = show_exact(answer.first_gap)
    return made
