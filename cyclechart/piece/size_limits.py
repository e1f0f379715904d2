"""The size of a piece when it is played out: more than any concert is a slip or an attack."""

from __future__ import annotations

from fractions import Fraction

from cyclechart.finding import Finding
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Free, Groove, Solo, Trade
from cyclechart.text import reading_rules
from cyclechart.text.nodes import Node

MAX_FORM_BEATS = 100_000
MAX_FORM_NOTES = 200_000
"""A form longer than this is a night and a day."""


def refuse_endless(piece: Piece, node: Node | None, has_form: bool = True) -> list[Finding]:
    """A finding at ``node`` where the piece, played out, has more than any concert."""
    beats, notes = Fraction(0), 0
    before = piece.cycle.beats
    for step in piece.steps:
        cycle, passes = step.cycle.beats, step.times
        lines = [piece.lines[name] for name in step.uses if name in piece.lines]
        longest = max((line.length for line in lines), default=Fraction(0))
        if isinstance(step, Solo | Groove):
            passes *= step.cycles
            beats += passes * cycle
        elif isinstance(step, Trade):
            beats += passes * step.cycles * len(step.players) * cycle
        elif isinstance(step, Free):
            beats += passes * max(step.seconds or Fraction(0), longest)
        else:
            # A pickup may need a cycle before it, and a landing is held to the end of its own.
            beats += passes * (longest + 2 * cycle)
        if any(line.begins > 1 for line in lines) and piece.is_metered(step):
            # A pickup that is long against the cycle before it waits for several of them.
            beats += cycle + before if before != cycle else 0
        before = cycle if piece.is_metered(step) else before
        notes += passes * sum(len(line.notes) for line in lines)
    if node is None or (beats <= MAX_FORM_BEATS and notes <= MAX_FORM_NOTES):
        return []
    played = "the form has" if has_form else "the lines, each once, have"
    what = f"played out, {played} {int(beats):,} beats and {notes:,} notes"
    hint = f"at most {MAX_FORM_BEATS:,} beats and {MAX_FORM_NOTES:,} notes"
    return [reading_rules.too_long(node.spot, what, [hint])]
