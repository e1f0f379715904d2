"""Rules over the form: what one step takes away from the step before it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from cyclechart.finding import Finding
from cyclechart.piece.model import Line, Note, Piece, Play, Step
from cyclechart.rules.rule import Rule, place_of, rule
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_beats, show_exact


@rule("warning")
def covered_notes(piece: Piece, this: Rule) -> Iterator[Finding]:
    """A pickup sounds over the step before and covers more than half of what is struck there.

    The player of both lines gives way to the new one. A few beats of pickup are as usual, but such
    a line is hardly heard: hold its landing for a whole cycle, or begin the next one later.

    wrong:  head: {begins: 9, sargam: P d n S' n d P m || S R G m P d n S' n d P m G R S R || S}
    right:  the same with fifteen beats more held after the landing: || S - - - …
    """
    told: set[tuple[str, str]] = set()
    for before, after in _in_turn(piece):
        if (before.line, after.line) in told:
            continue
        told.add((before.line, after.line))
        old, new = (piece.line_in(step.line, step.cycle) for step in (before, after))
        covered = _covered(old, before.cycle, new, after.cycle)
        body = old.standing(before.cycle)
        said = [note for note in old.notes if body.begin + note.start >= body.first]
        if 2 * len(covered) <= len(said):
            continue
        pickup = new.standing(after.cycle).pickup
        again = "as it is said again" if old is new else f"as '{new.name}' follows"
        message = (
            f"the pickup of {show_beats(pickup)} of '{new.name}' covers {len(covered)} of the "
            f"{len(said)} notes of '{old.name}', {again}"
        )
        tries = [f"hold the last note of '{old.name}' for a whole cycle after its landing"]
        tries += _later(new, pickup)
        place = place_of(piece, old, covered[0].start, before.cycle)
        yield this.found(covered[0].spot, message, *tries, place=place)


def _in_turn(piece: Piece) -> Iterator[tuple[Play, Play]]:
    """Lines that are played one right after the other, by one player."""

    def played(step: Step) -> Play | None:
        if isinstance(step, Play) and step.line in piece.lines and piece.is_metered(step):
            return step
        return None

    steps = [played(step) for step in piece.steps]
    for step in steps:
        if step is not None and step.times > 1:
            yield step, step
    for before, after in pairwise(steps):
        if before is None or after is None:
            continue
        if piece.lines[before.line].kind == piece.lines[after.line].kind:
            yield before, after


def _covered(old: Line, old_cycle: Cycle, new: Line, new_cycle: Cycle) -> list[Note]:
    """The notes of a line that the pickup of the next one covers.

    A pickup that would cover the whole of it waits for whole cycles, and covers none.
    """
    standing = old.standing(old_cycle)
    pickup = new.standing(new_cycle).pickup
    ends = standing.hands_over
    if not pickup or pickup >= ends - standing.first:
        return []
    return [note for note in old.notes if ends - pickup <= standing.begin + note.start < ends]


def _later(line: Line, pickup: Fraction) -> list[str]:
    """Another answer of a line's cadence with a shorter pickup."""
    for cadence in line.cadences:
        if cadence.chained or cadence.cycle is None or cadence.start:
            continue
        for other in cadence.solved.found:
            if (1 - other.begins) % cadence.cycle.beats < pickup:
                return [f"gap: {show_exact(other.gap)}, begins: {show_exact(other.begins)}"]
    return []
