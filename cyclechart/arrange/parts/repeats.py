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
class WrittenBar:
    """A bar as it is written. ``at``: the index of the bar played that it is, the first time.

    ``opens``: a repeat begins before it. ``times``: one ends after it, said so many times in all;
    0 where none does. ``ending``: the times that it is played in, where that is not every one.
    ``rests``: the bars of rest that it stands for. ``cue``: it shows what leads to an entry.
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
    """The bars of a passage as they are written.

    ``looks``: bars that look alike are alike in all that is played. ``resting``: nothing is played;
    ``plain``: nothing but slashes or time.
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
    """Whether a repeat has endings over nothing but rests or time, which are better counted."""
    body = [bar.at for bar in repeated if not bar.ending]
    return len(body) < len(repeated) and all(resting[at] or plain[at] for at in body)


def _rest(first: int, end: int) -> Iterator[WrittenBar]:
    if end > first:
        yield WrittenBar(first, rests=end - first)


_Item = TypeVar("_Item")


def _one_repeat(keys: Sequence[Hashable]) -> list[WrittenBar] | None:
    """All of the bars as one repeat, of as few as can be, with an ending where the last differs."""
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
    """How many items two runs have in common from their beginning."""
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
    """Bar after bar; rests in a row as one, plain bars that are alike as one repeated, and what
    comes round again for long."""
    bars = list(zip(keys, resting, plain, strict=True))
    lengths = [len(list(run)) for _, run in groupby(bars)]
    run_lengths = [left for length in lengths for left in range(length, 0, -1)]
    """How many bars from each on are like it."""
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
    """What comes round from a bar on: how many bars, how often; (0, 0) where too few are saved.

    Of several that save as many the shortest.
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
    """The bars in the order played, by the index that each is written for: what a reader plays."""
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
    """The bars in the order played, as ``unfolded``, but those of a rest each by itself."""
    before, count = -1, 0
    rests = {written_bar.at: written_bar.rests for written_bar in written}
    for bar in played_order(written):
        count = count + 1 if bar == before and rests[bar] > 1 else 0
        before = bar
        yield bar + count
