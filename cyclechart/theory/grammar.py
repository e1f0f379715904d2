"""The faults of a line by the movement of a mode, and the nearest line without any.

Wrong is a tone the mode does not have, a tone passed going up that the ascents leave out, one
passed coming down that the descents leave out. What one of the mode's paths or phrases does in the
same surroundings is the mode's own way. Grammars differ by teacher and lineage; the mode's own
entry says whose it is.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass

from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import Around, Fault, Moves
from cyclechart.theory.tones import SARGAM
from cyclechart.theory.ways import runs_of

DOUBLED = 2
REACH, NEAR_REACH = 7, 4
"""A replacement lies within so many semitones of the note it replaces; within fewer where skipped
turns go first."""


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
    mode: Mode, pitches: Sequence[int], kept: Collection[int] = (), *, skips_first: bool = False
) -> list[int] | None:
    """The nearest legal breath: same rhythm and fewest changed notes.

    Of several the one that changes most notes to another form of the same svara (N for n) is taken,
    then the one that skips fewest turns of the mode's paths, then that of least distance, where a
    note that comes to double its neighbour counts as far as ``DOUBLED`` semitones more. With
    ``skips_first`` the fewest skipped turns go before all else.
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
            _candidates(mode, pitch, NEAR_REACH if skips_first else REACH)
            if number in free and not meant[number]
            else [pitch]
            for number, pitch in enumerate(path)
        ]
        best = _cheapest(mode.moves, path, struck, candidates, meant, skips_first)
        if best is not None:
            return [pitch for pitch, count in zip(best, struck, strict=True) for _ in range(count)]
    return None


def _faults(mode: Mode, path: Sequence[int]) -> Iterator[tuple[int, Fault]]:
    """(index, fault) of each note at fault in a path without repeats."""
    moves = mode.moves
    known, anywhere, rising, falling = moves.known, moves.anywhere, moves.rising, moves.falling
    last = len(path) - 1
    for number, pitch in enumerate(path):
        tone = pitch % 12
        if anywhere[tone]:
            continue
        # Most notes are looked at no further: this is what ``Moves.fault`` says, in place.
        if known[tone]:
            if not 0 < number < last:
                continue
            rises, rises_on = path[number - 1] < pitch, pitch < path[number + 1]
            if rises != rises_on or (rising if rises else falling)[tone]:
                continue
        fault = moves.fault_at(around_of(path, number))
        if fault:
            yield number, fault


def around_of(path: Sequence[int], number: int) -> Around:
    """Return a note with the two notes before it and the two after it; None beyond the edges."""
    first, last = number - 2, number + 2
    if first >= 0 and last < len(path):
        before2, before, this, after, after2 = path[first : last + 1]
        return before2, before, this, after, after2
    end = len(path)
    return (
        path[first] if first >= 0 else None,
        path[number - 1] if number else None,
        path[number],
        path[number + 1] if number + 1 < end else None,
        path[last] if last < end else None,
    )


def _candidates(mode: Mode, pitch: int, reach: int) -> list[int]:
    near = [pitch + step for step in range(-reach, reach + 1)]
    legal = [other for other in near if other % 12 in mode.tones]
    return sorted({pitch, *legal}, key=lambda other: (abs(other - pitch), other))


Cost = tuple[int, int, int, int, int]
"""Skipped turns where they go first, changed notes, those changed to another svara, skipped turns,
semitones."""


_State = tuple[int | None, int | None, int, frozenset[int] | None]
"""A choice for the notes so far, as far as later notes have to know it.

The semitones by which the note before was reached, where a way of the mode asks for them; the last
note that differs from the present one (None at the start); the present one; the semitones by which
it must be left, where a way of the mode goes on.
"""


def _cheapest(
    moves: Moves,
    path: Sequence[int],
    struck: Sequence[int],
    candidates: list[list[int]],
    meant: Sequence[bool],
    skips_first: bool,
) -> list[int] | None:
    """The least cost over all legal choices, by dynamic programming.

    A layer maps a state to the least cost so far and the choices that led to it. A note is judged
    when the next different one is known, so that runs of equal choices are one note, exactly as
    ``judge_breath`` sees them.
    """
    skip = (1, 0, 0, 0, 0) if skips_first else (0, 0, 0, 1, 0)
    doubled = (0, 0, 0, 0, DOUBLED)
    skipped = _Memo(moves.never_straight)
    layer: dict[_State, tuple[Cost, _Trail]] = {}
    for choice in candidates[0]:
        layer[None, None, choice, None] = (_price(path[0], choice, struck[0]), (choice, None))
    for number in range(1, len(path)):
        following: dict[_State, tuple[Cost, _Trail]] = {}
        prices = [
            (choice, _price(path[number], choice, struck[number])) for choice in candidates[number]
        ]
        for state, (cost, trail) in layer.items():
            this = state[2]
            for choice, price in prices:
                total = _sum(cost, price)
                moved = choice != this
                if not moved:
                    total = _sum(total, doubled)
                after = _next(moves, state, choice, meant[number - 1]) if moved else state
                if after is None:
                    continue
                if moved and skipped[this, choice]:
                    total = _sum(total, skip)
                known = following.get(after)
                if known is None or total < known[0]:
                    following[after] = (total, (choice, trail))
        layer = following
    closing = [
        (cost, trail)
        for state, (cost, trail) in layer.items()
        if meant[-1] or moves.fault(state[1], state[2], None) is None
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


def _next(moves: Moves, state: _State, choice: int, meant: bool) -> _State | None:
    """Return the state after a further note, None where the present one is at fault before it."""
    reached, before, this, owed = state
    if owed is not None and choice - this not in owed:
        return None
    owing: frozenset[int] | None = None
    if not meant and moves.fault(before, this, choice) is not None:
        if before is None or not moves.known[this % 12]:
            return None
        afters = moves.ways.afters(reached, this - before, this % 12, choice - this)
        if not afters:
            return None
        owing = None if None in afters else frozenset(by for by in afters if by is not None)
    asks = before is not None and moves.ways.asks_before(choice % 12, choice - this)
    return (this - before if asks and before is not None else None), this, choice, owing


class _Memo(dict[tuple[int, int], bool]):
    """The answers of a question about two pitches, each asked once."""

    def __init__(self, ask: Callable[[int, int], bool]) -> None:
        super().__init__()
        self.ask = ask

    def __missing__(self, pair: tuple[int, int]) -> bool:
        self[pair] = answer = self.ask(*pair)
        return answer


def _price(pitch: int, choice: int, struck: int) -> Cost:
    if pitch == choice:
        return 0, 0, 0, 0, 0
    another = SARGAM[pitch % 12].upper() != SARGAM[choice % 12].upper()
    return 0, struck, struck * another, 0, struck * abs(choice - pitch)


def _sum(one: Cost, other: Cost) -> Cost:
    a, b, c, d, e = one
    f, g, h, i, j = other
    return a + f, b + g, c + h, d + i, e + j
