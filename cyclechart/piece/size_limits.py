"""The size of a piece when it is played out: more than any concert is a slip or an attack."""

from __future__ import annotations

from fractions import Fraction

from cyclechart.finding import Finding
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Free, Groove, Hold, Solo, Step, Trade
from cyclechart.text import reading_rules
from cyclechart.text.nodes import Node

MAX_FORM_BEATS = 100_000
MAX_FORM_NOTES = 200_000
"""A form longer than this is a night and a day."""


def refuse_endless(piece: Piece, node: Node | None, has_form: bool = True) -> list[Finding]:
    """Return a finding at ``node`` where the piece, played out, has more than any concert."""
    beats, notes = Fraction(0), 0
    before = piece.cycle.beats
    for step in piece.steps:
        lines = [piece.lines[name] for name in step.uses if name in piece.lines]
        beats += _beats_of(step, lines)
        if piece.is_metered(step):
            cycle = step.cycle.beats
            # A pickup that is long against the cycle before it waits for several of them.
            if before != cycle and any(line.begins > 1 for line in lines):
                beats += cycle + before
            before = cycle
        notes += _passes_of(step) * sum(len(line.notes) for line in lines)
        notes += _notes_beneath(piece, step, _beats_of(step, lines))
    if node is None or (beats <= MAX_FORM_BEATS and notes <= MAX_FORM_NOTES):
        return []
    played = "the form has" if has_form else "the lines have"
    message = f"with all repeats, {played} {int(beats):,} beats and {notes:,} notes"
    hint = f"at most {MAX_FORM_BEATS:,} beats and {MAX_FORM_NOTES:,} notes"
    return [reading_rules.too_long(node.spot, message, [hint])]


def _passes_of(step: Step) -> int:
    """Return how often the lines of a step are played at most."""
    return step.times * (step.cycles if isinstance(step, Solo | Groove) else 1)


def _beats_of(step: Step, lines: list[Line]) -> Fraction:
    """Return the most beats that a step can take."""
    cycle, passes = step.cycle.beats, _passes_of(step)
    longest = max((line.length for line in lines), default=Fraction(0))
    if isinstance(step, Solo | Groove):
        return passes * cycle
    if isinstance(step, Trade):
        return passes * step.all_cycles * cycle
    if isinstance(step, Hold):
        return step.seconds
    if isinstance(step, Free):
        return passes * max(step.seconds or Fraction(0), longest)
    # A pickup may need a cycle before it, and a landing is held to the end of its own.
    return passes * (longest + 2 * cycle)


def _notes_beneath(piece: Piece, step: Step, beats: Fraction) -> int:
    """Return the most notes that are looped beneath a step of so many beats."""
    count = Fraction(0)
    for one in step.under:
        lines = [piece.lines[name] for name in one.lines if name in piece.lines]
        length = sum((line.length for line in lines), Fraction(0))
        if length:
            count += (beats / length + 1) * sum(len(line.notes) + 1 for line in lines)
    return int(count)
