"""The faults of a line by the movement of a mode, and the nearest line without any.

Wrong is a tone the mode does not have, a tone passed going up that the ascents leave out, one
passed coming down that the descents leave out. What one of the mode's paths or phrases does in the
same surroundings is the mode's own way. Grammars differ by teacher and lineage; the mode's own
entry says whose it is.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import compress

from cyclechart.theory.cheapest_breath import DOUBLED, Search, Weights
from cyclechart.theory.mode import Mode
from cyclechart.theory.moves import Around, Fault, Moves
from cyclechart.theory.ways import starts_of

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
    for index, fault in _faults(mode.moves, pitches):
        yield Verdict(index, fault)


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
    starts = starts_of(pitches)
    path = [pitches[start] for start in starts]
    ends = [*starts[1:], len(pitches)]
    struck = [end - start for start, end in zip(starts, ends, strict=True)]
    meant = [False] * len(path)
    for index in kept:
        meant[bisect_right(ends, index)] = True
    faulty = {number for number, _ in _faults(mode.moves, path) if not meant[number]}
    if not faulty:
        return list(pitches)
    reach = NEAR_REACH if skips_first else REACH
    weights = Weights.of((reach + DOUBLED) * len(pitches), skips_first=skips_first)
    prices = _Prices(mode, weights, reach)
    search = Search(mode.moves, weights)
    for spread in (0, 1, 2, len(path)):
        free = {number for fault in faulty for number in range(fault - spread, fault + spread + 1)}
        candidates = [
            prices[pitch, count] if number in free and not meant[number] else ((pitch, 0),)
            for number, (pitch, count) in enumerate(zip(path, struck, strict=True))
        ]
        best = search.cheapest(candidates, meant)
        if best is not None:
            return [pitch for pitch, count in zip(best, struck, strict=True) for _ in range(count)]
    return None


def _faults(moves: Moves, pitches: Sequence[int]) -> Iterator[tuple[int, Fault]]:
    """(index, fault) of each note at fault; of a note struck several times running, of its first.

    This is what ``Moves.fault_at`` says, in place: only notes whose tone is at fault somewhere are
    looked at, and at the mode's own ways only where one has the same three notes.
    """
    known, rising, falling, passages = moves.known, moves.rising, moves.falling, moves.ways.passages
    count = len(pitches)
    fault: Fault
    for index in compress(range(count), map(moves.doubtful.__getitem__, pitches)):
        this = pitches[index]
        before = pitches[index - 1] if index else None
        if this == before:
            continue
        tone = this % 12
        if not known[tone]:
            yield index, "foreign-tone"
            continue
        further = index + 1
        while further < count and pitches[further] == this:
            further += 1
        if before is None or further == count:
            continue
        after = pitches[further]
        if before < this < after and not rising[tone]:
            fault = "left-out-going-up"
        elif before > this > after and not falling[tone]:
            fault = "left-out-coming-down"
        else:
            continue
        if (tone, this - before, after - this) in passages:
            first, last = _further(pitches, index - 1, -1), _further(pitches, further, 1)
            before2 = None if first is None else pitches[first]
            after2 = None if last is None else pitches[last]
            if moves.is_own((before2, before, this, after, after2)):
                continue
        yield index, fault


def _further(pitches: Sequence[int], index: int, step: int) -> int | None:
    """Return the index of the next other note, forward (1) or back (-1); None beyond the edges."""
    this = pitches[index]
    index += step
    while 0 <= index < len(pitches):
        if pitches[index] != this:
            return index
        index += step
    return None


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


class _Prices(dict[tuple[int, int], Sequence[tuple[int, int]]]):
    """The pitches that may stand for one that is struck so often, with their prices; the nearest
    first."""

    def __init__(self, mode: Mode, weights: Weights, reach: int) -> None:
        super().__init__()
        self.mode, self.weights, self.reach = mode, weights, reach

    def __missing__(self, struck: tuple[int, int]) -> Sequence[tuple[int, int]]:
        pitch, count = struck
        near = range(pitch - self.reach, pitch + self.reach + 1)
        legal = {pitch, *(other for other in near if other % 12 in self.mode.tones)}
        ordered = sorted(legal, key=lambda other: (abs(other - pitch), other))
        self[struck] = found = [
            (other, self.weights.price(pitch, other, count)) for other in ordered
        ]
        return found
