"""Folds equal bars into repeats, endings, and runs of rests or slashes.

Bars are compared note by note, so reading the repeats gives exactly the bars played.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TypeVar

LONGEST_ENDING = 2
"""The most bars of an ending; a longer difference is written out."""

LEAST_SAVED, LONGEST_ROUND = 4, 12
"""The fewest bars that a repeat within a passage must save, and the most bars that it repeats."""

SHORTEST_RUN = 3
"""The fewest equal bars of slashes that are written once."""


@dataclass(frozen=True, slots=True)
class WrittenBar:
    """A bar on paper. ``at``: the index of the played bar that it shows, at its first time.

    ``repeat_start``: a repeat begins before it. ``times``: a repeat ends after it and is played so
    many times in all; 0 for no repeat. ``ending``: the times in which it is played, () for every
    one. ``rests``: its number of bars of rest. ``cue``: it shows a cue for an entry.
    """

    at: int
    repeat_start: bool = False
    times: int = 0
    ending: tuple[int, ...] = ()
    rests: int = 0
    cue: bool = False


def fold_bars(
    keys: Sequence[Hashable], resting: Sequence[bool], plain: Sequence[bool]
) -> list[WrittenBar]:
    """Return the bars of a passage as written, equal ones once.

    ``keys``: two bars with equal keys are played the same. ``resting``: the bar is empty;
    ``plain``: the bar has only slashes. All three have one entry a bar.
    """
    if all(resting):
        return list(_rest(0, len(keys)))
    repeated = _one_repeat(keys)
    if repeated is not None and not _hides_a_count(repeated, resting, plain):
        return repeated
    return list(_bar_by_bar(keys, resting, plain))


def _hides_a_count(
    repeated: Sequence[WrittenBar], resting: Sequence[bool], plain: Sequence[bool]
) -> bool:
    """Return True for a repeat with endings whose body is only rests or slashes, which are easier
    to count."""
    body = [bar.at for bar in repeated if not bar.ending]
    return len(body) < len(repeated) and all(resting[at] or plain[at] for at in body)


def _rest(first: int, end: int) -> Iterator[WrittenBar]:
    if end > first:
        yield WrittenBar(first, rests=end - first)


_Item = TypeVar("_Item")


def _one_repeat(keys: Sequence[Hashable]) -> list[WrittenBar] | None:
    """Return all bars as one repeat of as few bars as possible, with endings where the last time
    differs, or None."""
    count = len(keys)
    for size in range(1, count // 2 + 1):
        if count % size:
            continue
        groups = [tuple(keys[at : at + size]) for at in range(0, count, size)]
        if any(group != groups[0] for group in groups[:-1]):
            continue
        common = _common_length(groups[0], groups[-1])
        if common == size:
            return _plain_repeat(size, len(groups))
        saved = common * (len(groups) - 1)
        if saved > 1 and size - common <= min(common, LONGEST_ENDING):
            return _with_endings(size, len(groups), common)
    return None


def _common_length(first: Sequence[_Item], second: Sequence[_Item]) -> int:
    """Return the number of equal items at the beginning of two sequences."""
    count = 0
    for item, other in zip(first, second, strict=True):
        if item != other:
            break
        count += 1
    return count


def _plain_repeat(size: int, times: int) -> list[WrittenBar]:
    last = size - 1
    return [WrittenBar(at, at == 0, times if at == last else 0) for at in range(size)]


def _with_endings(size: int, times: int, common: int) -> list[WrittenBar]:
    early = tuple(range(1, times))
    bars = [WrittenBar(at, at == 0) for at in range(common)]
    for at in range(common, size):
        bars.append(WrittenBar(at, ending=early, times=times if at == size - 1 else 0))
    last = size * (times - 1)
    return bars + [WrittenBar(last + at, ending=(times,)) for at in range(common, size)]


def _bar_by_bar(
    keys: Sequence[Hashable], resting: Sequence[bool], plain: Sequence[bool]
) -> Iterator[WrittenBar]:
    """Yield the bars in order: rests in a row as one, equal bars of slashes as a repeat, and a
    repeat wherever it saves enough."""
    bars = list(zip(keys, resting, plain, strict=True))
    lengths = [len(list(run)) for _, run in groupby(bars)]
    run_lengths = [left for length in lengths for left in range(length, 0, -1)]
    """For each bar, the number of equal bars from it on."""
    at = 0
    while at < len(keys):
        size, times = _best_round(keys, at)
        if resting[at]:
            yield from _rest(at, at + run_lengths[at])
            at += run_lengths[at]
        elif plain[at] and run_lengths[at] >= SHORTEST_RUN:
            yield WrittenBar(at, True, run_lengths[at])
            at += run_lengths[at]
        elif times:
            yield from (replace(bar, at=at + bar.at) for bar in _plain_repeat(size, times))
            at += size * times
        else:
            yield WrittenBar(at)
            at += 1


def _best_round(keys: Sequence[Hashable], at: int) -> tuple[int, int]:
    """Return (bars, times) of the repeat from a bar on that saves most, or (0, 0) for none.

    Of several that save as many, the shortest is taken.
    """
    best = 0, 0
    saved = LEAST_SAVED - 1
    for size in range(1, min(LONGEST_ROUND, (len(keys) - at) // 2) + 1):
        times = 1
        while keys[at : at + size] == keys[at + size * times : at + size * (times + 1)]:
            times += 1
        if size * (times - 1) > saved:
            best, saved = (size, times), size * (times - 1)
    return best


def played_order(written: Sequence[WrittenBar]) -> list[int]:
    """Return the ``at`` of each written bar in the order in which a reader plays them."""
    played: list[int] = []
    at = 0
    while at < len(written):
        if not written[at].repeat_start:
            played += [written[at].at] * max(1, written[at].rests)
            at += 1
            continue
        until = next(end for end in range(at, len(written)) if written[end].times) + 1
        times = written[until - 1].times
        while until < len(written) and written[until].ending:
            until += 1
        for time in range(1, times + 1):
            run = written[at:until]
            played += [bar.at for bar in run if not bar.ending or time in bar.ending]
        at = until
    return played


def bars_in_order(written: Sequence[WrittenBar]) -> Iterator[int]:
    """Yield the bars as ``played_order`` does, with an index of its own for each bar of a rest."""
    before, count = -1, 0
    rests = {written_bar.at: written_bar.rests for written_bar in written}
    for bar in played_order(written):
        count = count + 1 if bar == before and rests[bar] > 1 else 0
        before = bar
        yield bar + count
