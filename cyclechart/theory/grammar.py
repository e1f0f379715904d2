"""The faults of a line by the movement of a mode, and the nearest line without any.

Wrong is a tone the mode does not have, a tone passed going up that the ascent leaves out, one
passed coming down that the descent leaves out. A move that stands in one of the mode's phrases is
the mode's own way. Grammars differ by teacher and lineage; the mode's own entry says whose it is.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import Fault, Moves, runs_of

REACH = 7
"""A replacement lies within so many semitones of the note it replaces."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """A fault at the note with this index in its breath."""

    index: int
    fault: Fault


def judge_breath(mode: Mode, pitches: Sequence[int]) -> Iterator[Verdict]:
    """Every fault of one breath, in order. Repeats of a note are passed over for its neighbours."""
    runs = runs_of(pitches)
    for number, fault in _faults(mode, [pitch for _, pitch in runs]):
        yield Verdict(runs[number][0], fault)


def repair_breath(
    mode: Mode, pitches: Sequence[int], kept: Collection[int] = ()
) -> list[int] | None:
    """The nearest legal breath: same rhythm, fewest changed notes, then least distance.

    A note struck several times running changes as one, and counts as often as it is struck.
    Only notes at fault may change at first, then their neighbours too, then any within reach.
    The notes whose indices are ``kept`` are meant so: they stand, and are at no fault.
    None where there is no legal breath (a mode without tones in reach).
    """
    if not pitches:
        return []
    runs = runs_of(pitches)
    path = [pitch for _, pitch in runs]
    ends = [*(i for i, _ in runs[1:]), len(pitches)]
    struck = [end - start for (start, _), end in zip(runs, ends, strict=True)]
    meant = [False] * len(runs)
    for index in kept:
        meant[bisect_right(ends, index)] = True
    faulty = {number for number, _ in _faults(mode, path) if not meant[number]}
    if not faulty:
        return list(pitches)
    for spread in (0, 1, 2, len(path)):
        free = {number for fault in faulty for number in range(fault - spread, fault + spread + 1)}
        candidates = [
            _candidates(mode, pitch) if number in free and not meant[number] else [pitch]
            for number, pitch in enumerate(path)
        ]
        best = _cheapest(mode.moves, path, struck, candidates, meant)
        if best is not None:
            return [pitch for pitch, count in zip(best, struck, strict=True) for _ in range(count)]
    return None


def _faults(mode: Mode, path: Sequence[int]) -> Iterator[tuple[int, Fault]]:
    """(index, fault) of each note at fault in a path without repeats."""
    fault_of = mode.moves.fault
    last = len(path) - 1
    for number, pitch in enumerate(path):
        before = path[number - 1] if number else None
        after = path[number + 1] if number < last else None
        fault = fault_of(before, pitch, after)
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
    moves: Moves,
    path: Sequence[int],
    struck: Sequence[int],
    candidates: list[list[int]],
    meant: Sequence[bool],
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
                elif meant[number - 1] or moves.fault(before, this, choice) is None:
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
        if meant[-1] or moves.fault(before, this, None) is None
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
