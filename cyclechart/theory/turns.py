"""Moves that a mode's paths make straight, and where a line turns on a tone that a path leaves out.

A move is straight when the path, read on through the octave, has the one tone and later the other
with everything between them rising (falling) strictly. Grammars differ by teacher and lineage; the
mode's own entry says whose it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from cyclechart.theory.grammar import runs_of
from cyclechart.theory.mode import Mode

Move = tuple[int, int]
"""A tone (0 to 11) and the semitones to the next: octave-free."""


@dataclass(frozen=True, slots=True)
class Turn:
    """What is to be said of the note with this index in its breath."""

    index: int
    what: Literal["turn-skipped", "turns-on-left-out"]
    going: Literal["up", "down"]


@lru_cache(maxsize=256)
def straight_moves(path: tuple[int, ...], rising: bool) -> frozenset[Move]:
    """The moves that a path makes straight, upward ones of an ascent or downward ones of a descent.

    The path is followed through its copies an octave up and down from a pitch that both have; the
    end of one and the beginning of the next are no move of their own.
    """
    above = tuple(pitch + (12 if rising else -12) for pitch in path)
    ways = [path]
    for at, pitch in enumerate(path):
        if pitch in above:
            ways.append((*path[: at + 1], *above[above.index(pitch) + 1 :]))
    moves = set()
    for way in ways:
        for first, start in enumerate(way):
            before = start
            for pitch in way[first + 1 :]:
                if (pitch > before) != rising or pitch == before:
                    break
                moves.add((start % 12, pitch - start))
                before = pitch
    return frozenset(moves)


@lru_cache(maxsize=256)
def _own_steps(mode: Mode) -> frozenset[Move]:
    """The two-tone moves of the mode's phrases."""
    steps = set()
    for phrase in mode.phrases:
        path = [pitch for _, pitch in runs_of(phrase)]
        steps |= {(a % 12, b - a) for a, b in pairwise(path)}
    return frozenset(steps)


def turns(mode: Mode, pitches: Sequence[int]) -> Iterator[Turn]:
    """What one breath skips and turns on, in order. Repeats of a note are passed over."""
    runs = runs_of(pitches)
    path = [pitch for _, pitch in runs]
    for number, this in enumerate(path):
        before = path[number - 1] if number else None
        after = path[number + 1] if number + 1 < len(path) else None
        own = (
            before is not None
            and after is not None
            and (this % 12, this - before, after - this) in mode.own_moves
        )
        if own or this % 12 not in mode.tones:
            continue
        at = runs[number][0]
        if before is not None and _left_out(mode, before, this, after):
            yield Turn(at, "turns-on-left-out", "up" if this > before else "down")
        if after is not None and is_skipped(mode, this, after):
            yield Turn(at, "turn-skipped", "up" if after > this else "down")


def _left_out(mode: Mode, before: int, this: int, after: int | None) -> bool:
    """Whether a note is the top of a rise and not in the ascent, or the bottom of a fall and not in
    the descent."""
    rises = this > before
    if after is not None and (after > this) == rises:
        return False
    return this % 12 not in (mode.up if rises else mode.down)


def is_skipped(mode: Mode, this: int, after: int) -> bool:
    """Whether a move between two tones of a path is one that the path never makes straight."""
    rises = after > this
    tones, path = (mode.up, mode.ascent) if rises else (mode.down, mode.descent)
    move = (this % 12, after - this)
    if this % 12 not in tones or after % 12 not in tones or abs(after - this) > 12:
        return False
    return move not in straight_moves(path, rises) and move not in _own_steps(mode)


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
