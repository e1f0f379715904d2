"""The places where a line skips a turn of a mode's paths, or turns on a tone they leave out.

Grammars differ by teacher and lineage; the mode's own entry says whose it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from cyclechart.theory.grammar import around_of
from cyclechart.theory.mode import Mode
from cyclechart.theory.ways import runs_of


@dataclass(frozen=True, slots=True)
class ModeTurn:
    """A turn, skipped or wrongly made, at the note with this index in its breath."""

    index: int
    what: Literal["turn-skipped", "turns-on-left-out"]
    going: Literal["up", "down"]

    @property
    def skips(self) -> bool:
        """True for a turn of the mode's that the line skips."""
        return self.what == "turn-skipped"


def turns(mode: Mode, pitches: Sequence[int]) -> Iterator[ModeTurn]:
    """Yield the skipped and wrong turns of one breath, in order; repeated notes count once."""
    moves = mode.moves
    runs = runs_of(pitches)
    path = [pitch for _, pitch in runs]
    for number, this in enumerate(path):
        if not moves.known[this % 12]:
            continue
        around = around_of(path, number)
        _, before, _, after, _ = around
        if before is not None and moves.turns_on_left_out(around):
            yield ModeTurn(runs[number][0], "turns-on-left-out", "up" if this > before else "down")
        if after is not None and moves.skips_turn(around):
            yield ModeTurn(runs[number][0], "turn-skipped", "up" if after > this else "down")


LONGEST_WAY = 6
"""The notes of the longest way that is suggested in place of one move."""


def ways_between(mode: Mode, pitches: Sequence[int], index: int) -> Iterator[tuple[int, ...]]:
    """Yield the mode's own ways from the note at an index to the next different one of a breath.

    The shortest come first. A way is a part of a printed path or a phrase, at the octave of the two
    tones; with it in the place of the move the breath has no fault and no skipped turn there.
    """
    runs = [pitch for _, pitch in runs_of(pitches[: index + 1])]
    rest = [pitch for _, pitch in runs_of(pitches[index:])][1:]
    if not rest:
        return
    this, after = runs[-1], rest[0]
    known: set[tuple[int, ...]] = set()
    for way in sorted(_own_parts(mode, this, after), key=len):
        if way not in known and _is_clean(mode, [*runs[:-1], *way, *rest[1:]], len(runs), len(way)):
            yield way
        known.add(way)


def _own_parts(mode: Mode, this: int, after: int) -> Iterator[tuple[int, ...]]:
    """Yield every part of a path or phrase that leads from one tone to the other."""
    for way in (*mode.ways, *mode.phrases):
        path = [pitch for _, pitch in runs_of(way)]
        for start, pitch in enumerate(path):
            shift = this - pitch
            if shift % 12:
                continue
            for end in range(start + 2, min(start + LONGEST_WAY, len(path))):
                if path[end] + shift == after:
                    yield tuple(one + shift for one in path[start : end + 1])


def _is_clean(mode: Mode, path: Sequence[int], first: int, count: int) -> bool:
    """Return whether ``count`` notes from the number ``first`` on, and their neighbours, are at no
    fault and skip no turn."""
    moves = mode.moves
    around = range(max(0, first - 3), min(len(path), first + count + 2))
    return not any(
        moves.fault_at(here) or moves.skips_turn(here)
        for here in (around_of(path, number) for number in around)
    )
