"""The report on a piece's cadences: the kind of each, its counts, and others that land."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from cyclechart.piece.line import Cadence, Line
from cyclechart.piece.model import Piece
from cyclechart.theory.cadence import Answer
from cyclechart.theory.cadence.words import first_part_of, statements_of
from cyclechart.theory.exact import show_beats, show_exact

OTHERS = 3
"""The most other answers that are shown."""


def as_text(piece: Piece) -> str:
    """A block for each cadence that lands, in the order of the lines; "" where there is none."""
    blocks = [
        "\n".join(_block(piece, line, cadence, cadence.answer))
        for standing in piece.standing_lines
        for cycle in piece.cycles_of(standing.name)
        for line in [piece.line_in(standing.name, cycle)]
        for cadence in line.cadences
        if cadence.answer is not None and line.whole
    ]
    return "\n".join(f"{block}\n" for block in blocks)


def _block(piece: Piece, line: Line, cadence: Cadence, answer: Answer) -> Iterator[str]:
    spot = cadence.spot
    yield f"{spot.file}:{spot.line}:{spot.column}: cadence"
    within = ""
    if len(piece.cycles) > 1 and cadence.cycle is not None:
        within = f", in {piece.called(cadence.cycle)}"
    yield f"  {line.name}: {_named(answer)}, {_lengths(cadence, answer)}{within}"
    broken = any(end.denominator > 1 for end in answer.ends)
    ends = (", " if broken else " ").join(_counted(end, cadence, answer) for end in answer.ends)
    home = f"the eduppu {show_exact(answer.eduppu)}" if answer.eduppu else "a first beat"
    yield f"  last strokes on counts {ends} (× {home})"
    if cadence.question.times > 1:
        silence, apart = show_exact(answer.silence), show_exact(answer.apart)
        yield f"  silence between {silence}, stroke to stroke {apart}"
    others = [other for other in cadence.solved.found if other != answer]
    if others:
        shown = "; ".join(_other(cadence, other) for other in others[:OTHERS])
        more = "; and more" if len(others) > OTHERS else ""
        yield f"  also lands: {shown}{more}"


def _named(answer: Answer) -> str:
    return answer.name if answer.lands == "sam" else f"{answer.name}, {answer.lands}"


def _lengths(cadence: Cadence, answer: Answer) -> str:
    question = cadence.question
    alike = question.alike or question.times == 1
    text = f"{question.times} × {show_beats(answer.phrase)}" if alike else statements_of(question)
    text += f" with a gap of {show_exact(answer.gap)}" if answer.gap else " without a gap"
    if question.rounds > 1:
        text += f", {question.rounds} rounds"
        if answer.round_gap:
            text += f" with {show_beats(answer.round_gap)} between"
    if question.first is not None:
        said = replace(question.first, gap=answer.first_gap)
        text = f"{first_part_of(replace(question, first=said))}, then {text}"
    if question.lead:
        text = f"{show_beats(question.lead)} once, then {text}"
    if question.body:
        text = f"{show_beats(question.body)} and {text}"
    return f"{text}, from beat {show_exact(answer.begins)}"


def _counted(end: Fraction, cadence: Cadence, answer: Answer) -> str:
    assert cadence.cycle is not None
    return show_exact(end) + ("×" if answer.is_home(end, cadence.cycle.beats) else "")


def _other(cadence: Cadence, other: Answer) -> str:
    parts = []
    if cadence.question.times > 1:
        parts.append(f"gap {show_exact(other.gap)}")
    if other.round_gap is not None:
        parts.append(f"rounds {show_exact(other.round_gap)} apart")
    if other.first_gap is not None:
        parts.append(f"the first part's gap {show_exact(other.first_gap)}")
    if not cadence.chained:
        parts.append(f"from beat {show_exact(other.begins)}")
    several = other.round_gap is not None or other.first_gap is not None
    return ", ".join(parts) if several else " ".join(parts)
