"""The report on a piece's cadences: the kind of each, its counts, and others that land."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from cyclechart.piece.model import Cadence, Line, Piece
from cyclechart.theory.cadence import Answer
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
    ends = " ".join(_counted(end, cadence) for end in answer.ends)
    yield f"  last strokes on counts {ends} (× a first beat)"
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
    text = f"{question.times} × {show_beats(answer.phrase)}"
    if question.body:
        text = f"{show_beats(question.body)} and {text}"
    text += f" with a gap of {show_exact(answer.gap)}" if answer.gap else " without a gap"
    if question.rounds > 1:
        text += f", {question.rounds} rounds"
        if answer.round_gap:
            text += f" with {show_beats(answer.round_gap)} between"
    if question.lead:
        text = f"{show_beats(question.lead)} once, then {text}"
    return f"{text}, from beat {show_exact(answer.begins)}"


def _counted(end: Fraction, cadence: Cadence) -> str:
    assert cadence.cycle is not None
    return show_exact(end) + ("×" if (end - 1) % cadence.cycle.beats == 0 else "")


def _other(cadence: Cadence, other: Answer) -> str:
    parts = []
    if cadence.question.times > 1:
        parts.append(f"gap {show_exact(other.gap)}")
    if other.round_gap is not None:
        parts.append(f"rounds {show_exact(other.round_gap)} apart")
    if not cadence.chained:
        parts.append(f"from beat {show_exact(other.begins)}")
    return ", ".join(parts) if other.round_gap is not None else " ".join(parts)
