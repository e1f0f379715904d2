"""Bars that are played again written once: repeats, endings, and runs of rests or slashes.

What is folded is compared first, note by note: unfolded again a part is what its player plays.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TypeVar

LONGEST_ENDING = 2
"""Bars of an ending at most; what differs for longer is written out."""

LEAST_SAVED, LONGEST_ROUND = 4, 12
"""Within a passage bars are repeated where so many are saved; what comes round is no longer."""

SHORTEST_RUN = 3
"""Plain bars (slashes, time) that are alike are written once from so many on."""


@dataclass(frozen=True, slots=True)
class Fold:
    """A bar as it is written. ``at``: the index of the bar played that it is, the first time.

    ``opens``: a repeat begins before it. ``times``: one ends after it, said so many times in all;
    0 where none does. ``ending``: the times that it is played in, where that is not every one.
    ``rests``: the bars of rest that it stands for. ``cue``: it shows what leads to an entry.
    """

    at: int
    opens: bool = False
    times: int = 0
    ending: tuple[int, ...] = ()
    rests: int = 0
    cue: bool = False


def fold(looks: Sequence[Hashable], resting: Sequence[bool], plain: Sequence[bool]) -> list[Fold]:
    """The bars of a passage as they are written.

    ``looks``: bars that look alike are alike in all that is played. ``resting``: nothing is played;
    ``plain``: nothing but slashes or time.
    """
    if all(resting):
        return list(_rests(0, len(looks)))
    repeated = _repeated(looks)
    if repeated is not None and not _hides_a_count(repeated, resting, plain):
        return repeated
    return list(_runs(looks, resting, plain))


def _hides_a_count(
    repeated: Sequence[Fold], resting: Sequence[bool], plain: Sequence[bool]
) -> bool:
    """Whether a repeat has endings over nothing but rests or time, which are better counted."""
    body = [one.at for one in repeated if not one.ending]
    return len(body) < len(repeated) and all(resting[at] or plain[at] for at in body)


def _rests(first: int, end: int) -> Iterator[Fold]:
    if end > first:
        yield Fold(first, rests=end - first)


_Item = TypeVar("_Item")


def _repeated(looks: Sequence[Hashable]) -> list[Fold] | None:
    """All of the bars as one repeat, of as few as can be, with an ending where the last differs."""
    count = len(looks)
    for size in range(1, count // 2 + 1):
        if count % size:
            continue
        groups = [tuple(looks[at : at + size]) for at in range(0, count, size)]
        if any(group != groups[0] for group in groups[:-1]):
            continue
        alike = _alike(groups[0], groups[-1])
        if alike == size:
            return _plain_repeat(size, len(groups))
        saved = alike * (len(groups) - 1)
        if saved > 1 and size - alike <= min(alike, LONGEST_ENDING):
            return _with_endings(size, len(groups), alike)
    return None


def _alike(one: Sequence[_Item], two: Sequence[_Item]) -> int:
    """How many items two runs have in common from their beginning."""
    count = 0
    for first, second in zip(one, two, strict=True):
        if first != second:
            break
        count += 1
    return count


def _plain_repeat(size: int, times: int) -> list[Fold]:
    last = size - 1
    return [Fold(at, at == 0, times if at == last else 0) for at in range(size)]


def _with_endings(size: int, times: int, alike: int) -> list[Fold]:
    early = tuple(range(1, times))
    folds = [Fold(at, at == 0) for at in range(alike)]
    for at in range(alike, size):
        folds.append(Fold(at, ending=early, times=times if at == size - 1 else 0))
    last = size * (times - 1)
    return folds + [Fold(last + at, ending=(times,)) for at in range(alike, size)]


def _runs(
    looks: Sequence[Hashable], resting: Sequence[bool], plain: Sequence[bool]
) -> Iterator[Fold]:
    """Bar after bar; rests in a row as one, plain bars that are alike as one repeated, and what
    comes round again for long."""
    keys = list(zip(looks, resting, plain, strict=True))
    lengths = [len(list(run)) for _, run in groupby(keys)]
    runs = [left for length in lengths for left in range(length, 0, -1)]
    """How many bars from each on are like it."""
    at = 0
    while at < len(looks):
        size, times = _round(looks, at)
        if resting[at]:
            yield from _rests(at, at + runs[at])
            at += runs[at]
        elif plain[at] and runs[at] >= SHORTEST_RUN:
            yield Fold(at, True, runs[at])
            at += runs[at]
        elif times:
            yield from (replace(one, at=at + one.at) for one in _plain_repeat(size, times))
            at += size * times
        else:
            yield Fold(at)
            at += 1


def _round(looks: Sequence[Hashable], at: int) -> tuple[int, int]:
    """What comes round from a bar on: how many bars, how often; (0, 0) where too few are saved.

    Of several that save as many the shortest.
    """
    best = 0, 0
    saved = LEAST_SAVED - 1
    for size in range(1, min(LONGEST_ROUND, (len(looks) - at) // 2) + 1):
        times = 1
        while looks[at : at + size] == looks[at + size * times : at + size * (times + 1)]:
            times += 1
        if size * (times - 1) > saved:
            best, saved = (size, times), size * (times - 1)
    return best


def unfolded(folds: Sequence[Fold]) -> list[int]:
    """The bars in the order played, by the index that each is written for: what a reader plays."""
    played: list[int] = []
    at = 0
    while at < len(folds):
        if not folds[at].opens:
            played += [folds[at].at] * max(1, folds[at].rests)
            at += 1
            continue
        until = next(end for end in range(at, len(folds)) if folds[end].times) + 1
        times = folds[until - 1].times
        while until < len(folds) and folds[until].ending:
            until += 1
        for turn in range(1, times + 1):
            run = folds[at:until]
            played += [one.at for one in run if not one.ending or turn in one.ending]
        at = until
    return played


def bars_in_order(folds: Sequence[Fold]) -> Iterator[int]:
    """The bars in the order played, as ``unfolded``, but those of a rest each by itself."""
    before, count = -1, 0
    rests = {fold.at: fold.rests for fold in folds}
    for bar in unfolded(folds):
        count = count + 1 if bar == before and rests[bar] > 1 else 0
        before = bar
        yield bar + count
