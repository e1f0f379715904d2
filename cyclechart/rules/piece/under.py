"""A rule over the lines that are looped beneath the steps of a form."""

from __future__ import annotations

from collections.abc import Iterator

from cyclechart.finding import Finding, Suggestion
from cyclechart.piece.line_text_edits import beats_at_end
from cyclechart.piece.model import Piece
from cyclechart.piece.piece_edits import line_key_edits
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.theory.exact import show_beats, show_exact


@rule("warning")
def uneven_under(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A line that is looped under a step, or gives it the rhythm of its hits, does not fill whole
    cycles: each round would leave a gap.

    Write it out to whole cycles, or let it cross the cycle on purpose with ``lands: free``: then
    its rounds follow one another without a gap, over the steps too.

    wrong:  under: {guitar: riff}      riff: {sargam: S R G}      in a cycle of sixteen beats
    right:  the same with lands: free
    """
    judged = set()
    for step in piece.steps:
        looped = {name for one in step.under for name in one.lines}
        for name in step.all_lines:
            if name not in piece.lines_beneath or (name, step.cycle) in judged:
                continue
            judged.add((name, step.cycle))
            line, cycle = piece.line_in(name, step.cycle), step.cycle
            if line.free or not line.whole or line.standing(cycle).shape in ("loops", "lands"):
                continue
            over = line.length % cycle.beats
            if not over:
                continue
            does = "is looped under other music" if name in looped else "is the rhythm of hits"
            message = (
                f"'{name}' {does} and lasts {show_beats(line.length)}, which "
                f"is no whole number of cycles of {show_exact(cycle.beats)}"
            )
            free = Suggestion("lands: free", line_key_edits(piece, name, "lands", "free"))
            more = f"add {show_beats(cycle.beats - over)} at its end"
            tries = [Suggestion(more, beats_at_end(piece, line, cycle.beats - over)), free]
            tries = tries[1:] if line.derivation is not None else tries  # it has no text to change
            place = place_of(piece, line, line.notes[0].start, cycle) if line.notes else None
            yield this.found(line.spot, message, *tries, place=place)
