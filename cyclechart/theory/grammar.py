"""The movement grammar of a mode: which tone may stand where between which neighbours.

Only the three error rules are here yet: a tone the mode does not have, a tone passed going up that
the ascent leaves out, one passed coming down that the descent leaves out. A move that stands in one
of the mode's phrases is the mode's own way. Grammars differ by teacher and lineage; the mode's own
entry says whose it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from cyclechart.theory.mode import Mode

Fault = Literal["foreign-tone", "left-out-going-up", "left-out-coming-down"]

REACH = 7
"""A replacement lies within so many semitones of the note it replaces."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """A fault at the note with this index in its breath."""

    index: int
    fault: Fault


def judge_note(mode: Mode, before: int | None, this: int, after: int | None) -> Fault | None:
    """Judge one note between its neighbours (pitches; None at a breath's edge)."""
    tone = this % 12
    if tone not in mode.tones:
        return "foreign-tone"
    if before is None or after is None:
        return None
    if before < this < after:
        fault: Fault = "left-out-going-up"
        legal = tone in mode.up
    elif before > this > after:
        fault = "left-out-coming-down"
        legal = tone in mode.down
    else:
        return None
    if legal or (tone, this - before, after - this) in mode.own_moves:
        return None
    return fault


def judge_breath(mode: Mode, pitches: Sequence[int]) -> Iterator[Verdict]:
    """Every fault of one breath, in order. Repeats of a note are passed over for its neighbours."""
    runs = runs_of(pitches)
    for number, fault in _faults(mode, [pitch for _, pitch in runs]):
        yield Verdict(runs[number][0], fault)


def runs_of(pitches: Sequence[int]) -> list[tuple[int, int]]:
    """(index of first note, pitch) of each run of equal pitches."""
    return [(i, p) for i, p in enumerate(pitches) if i == 0 or p != pitches[i - 1]]


def repair_breath(mode: Mode, pitches: Sequence[int]) -> list[int] | None:
    """The nearest legal breath: same rhythm, fewest changed notes, then least distance.

    A note struck several times running changes as one, and counts as often as it is struck.
    Only notes at fault may change at first, then their neighbours too, then any within reach.
    None where there is no legal breath (a mode without tones in reach).
    """
    runs = runs_of(pitches)
    path = [pitch for _, pitch in runs]
    struck = [end - start for start, end in pairwise([*(i for i, _ in runs), len(pitches)])]
    faulty = {number for number, fault in _faults(mode, path)}
    if not faulty:
        return list(pitches)
    for spread in (0, 1, 2, len(path)):
        free = {number for fault in faulty for number in range(fault - spread, fault + spread + 1)}
        candidates = [
            _candidates(mode, pitch) if number in free else [pitch]
            for number, pitch in enumerate(path)
        ]
        best = _cheapest(mode, path, struck, candidates)
        if best is not None:
            return [pitch for pitch, count in zip(best, struck, strict=True) for _ in range(count)]
    return None


def _faults(mode: Mode, path: Sequence[int]) -> Iterator[tuple[int, Fault]]:
    """(index, fault) of each note at fault in a path without repeats."""
    for number, pitch in enumerate(path):
        before = path[number - 1] if number else None
        after = path[number + 1] if number + 1 < len(path) else None
        fault = judge_note(mode, before, pitch, after)
        if fault:
            yield number, fault


def _candidates(mode: Mode, pitch: int) -> list[int]:
    near = [pitch + step for step in range(-REACH, REACH + 1)]
    legal = [other for other in near if other % 12 in mode.tones]
    return sorted({pitch, *legal}, key=lambda other: (abs(other - pitch), other))


Cost = tuple[int, int]
_State = tuple[int | None, int]
"""The last note that differs from the present one (None at the start), and the present one."""


def _cheapest(
    mode: Mode, path: Sequence[int], struck: Sequence[int], candidates: list[list[int]]
) -> list[int] | None:
    """Least (changed notes, semitones) over all legal choices, by dynamic programming.

    A layer maps (note before, note) to the least cost so far and the choices that led to it. A
    note is judged when the next different one is known, so that runs of equal choices are one
    note, exactly as ``judge_breath`` sees them.
    """
    layer: dict[_State, tuple[Cost, _Trail]] = {}
    for choice in candidates[0]:
        layer[(None, choice)] = (_price(path[0], choice, struck[0]), (choice, None))
    for number in range(1, len(path)):
        following: dict[_State, tuple[Cost, _Trail]] = {}
        for (before, this), (cost, trail) in layer.items():
            for choice in candidates[number]:
                if choice == this:
                    state: _State = (before, this)
                elif judge_note(mode, before, this, choice) is None:
                    state = (this, choice)
                else:
                    continue
                price = _price(path[number], choice, struck[number])
                total = (cost[0] + price[0], cost[1] + price[1])
                known = following.get(state)
                if known is None or total < known[0]:
                    following[state] = (total, (choice, trail))
        layer = following
    closing = [
        (cost, trail)
        for (before, this), (cost, trail) in layer.items()
        if judge_note(mode, before, this, None) is None
    ]
    if not closing:
        return None
    chosen: list[int] = []
    step: _Trail | None = min(closing, key=lambda item: item[0])[1]
    while step is not None:
        chosen.append(step[0])
        step = step[1]
    return chosen[::-1]


_Trail = tuple[int, "_Trail | None"]


def _price(pitch: int, choice: int, struck: int) -> Cost:
    return (struck * int(choice != pitch), struck * abs(choice - pitch))
