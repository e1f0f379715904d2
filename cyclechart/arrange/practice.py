"""What a rehearsal wants of a piece: forms of its lines to sing back, claps all through."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from cyclechart.arrange.percussion import counted
from cyclechart.arrange.renderings import SING_BACK
from cyclechart.arrange.score import Hit
from cyclechart.arrange.timeline import Timeline
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Groove, Play, Step


def call_and_response(piece: Piece) -> Piece:
    """The piece's melodies one by one, each followed by as many cycles to sing it back in.

    Raises ValueError where the piece has no melody in a cycle.
    """
    steps: list[Step] = []
    for line in piece.standing_lines:
        if line.kind != "melody" or line.free:
            continue
        for cycle in piece.cycles_of(line.name):
            here = piece.line_in(line.name, cycle)
            standing = here.standing(cycle)
            force = replace(piece.force, cycle=cycle, mode=piece.modes_of(line.name)[0])
            cycles = max(1, -((standing.first - standing.hands_over) // cycle.beats))
            steps += [
                Play(spot=line.spot, times=1, force=force, parts=((line.name, ()),)),
                Groove(spot=line.spot, times=1, force=force, cycles=int(cycles), label=SING_BACK),
            ]
    if not steps:
        raise ValueError("there is no melody in a cycle to sing back")
    return replace(piece, form=tuple(steps))


def clapped(timeline: Timeline) -> tuple[Hit, ...]:
    """Claps and waves through every cycle."""
    return tuple(
        hit for stretch in timeline.stretches if stretch.kind != "free" for hit in counted(stretch)
    )


def clapped_once(timeline: Timeline, start: Fraction) -> tuple[Hit, ...]:
    """Claps and waves of one cycle, of the kind that is played at a time; from beat 0."""
    here = timeline.at(start)
    once = replace(here, start=Fraction(0), end=here.cycle.beats)
    return tuple(counted(once))
