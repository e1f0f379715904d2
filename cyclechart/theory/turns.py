"""The places where a line skips a turn of a mode's paths, or turns on a tone they leave out.

Grammars differ by teacher and lineage; the mode's own entry says whose it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import runs_of


@dataclass(frozen=True, slots=True)
class ModeTurn:
    """A turn, skipped or wrongly made, at the note with this index in its breath."""

    index: int
    what: Literal["turn-skipped", "turns-on-left-out"]
    going: Literal["up", "down"]


def turns(mode: Mode, pitches: Sequence[int]) -> Iterator[ModeTurn]:
    """Yield the skipped and wrong turns of one breath, in order; repeated notes count once."""
    moves = mode.moves
    runs = runs_of(pitches)
    path = [pitch for _, pitch in runs]
    for number, this in enumerate(path):
        before = path[number - 1] if number else None
        after = path[number + 1] if number + 1 < len(path) else None
        if not moves.known[this % 12] or moves.is_own(before, this, after):
            continue
        at = runs[number][0]
        if before is not None and moves.turns_left_out(before, this, after):
            yield ModeTurn(at, "turns-on-left-out", "up" if this > before else "down")
        if after is not None and moves.is_skipped(this, after):
            yield ModeTurn(at, "turn-skipped", "up" if after > this else "down")


def way_between(mode: Mode, this: int, after: int) -> tuple[int, ...]:
    """The path's own way from one tone to the other, at their octave; empty where it has none."""
    path = mode.ascent if after > this else mode.descent
    for shift in (0, 12, -12, 24, -24):
        moved = [pitch + shift for pitch in path]
        if this in moved:
            start = moved.index(this)
            if after in moved[start:]:
                return tuple(moved[start : moved.index(after, start) + 1])
    return ()
