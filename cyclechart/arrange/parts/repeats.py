"""Folds equal bars into repeats, endings, and runs of rests or slashes.

Bars are compared note by note, so reading the repeats gives exactly the bars played. Repeats follow
the form: one that goes beyond a time of the step, a line or a turn of trading repeats whole ones.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import accumulate

LONGEST_ENDING = 2
"""The most bars of an ending; a longer difference is written out."""

SHORTEST_BODY, SHORTEST_LONG_BODY = 2, 3
"""The fewest bars before the endings of a repeat that is played twice, and more often."""

LEAST_SAVED, LONGEST_ROUND = 4, 12
"""The fewest bars that a repeat within a line must save, and the most bars that it repeats."""

LEAST_SAVED_BY_UNITS = 2
"""The fewest bars that a repeat of whole lines, turns or times must save within a passage."""

SHORTEST_RUN = 3
"""The fewest equal bars of slashes that are written once."""

MOST_UNITS = 24
"""The most lines, turns or times of a step that one repeat has in its body."""

LINE, TIME, PASSAGE = 1, 2, 3
"""The levels of the boundaries of the form: a line or a turn of trading begins; the step is played
again; the passage begins or ends."""

BAR, REPEAT, ENDINGS = 4, 1, 2
"""The cost to a reader of a written bar, a pair of repeat signs, and a pair of endings."""


@dataclass(frozen=True, slots=True)
class WrittenBar:
    """A bar on paper. ``at``: the index of the played bar that it shows, at its first time.

    ``repeat_start``: a repeat begins before it. ``times``: a repeat ends after it and is played so
    many times in all; 0 for no repeat. ``ending``: the times in which it is played, () for every
    one. ``rests``: its number of bars of rest. ``cue``: it shows a cue for an entry.
    ``ends_time``: the step is played again after it, written out.
    """

    at: int
    repeat_start: bool = False
    times: int = 0
    ending: tuple[int, ...] = ()
    rests: int = 0
    cue: bool = False
    ends_time: bool = False


def fold_bars(
    keys: Sequence[Hashable],
    resting: Sequence[bool],
    plain: Sequence[bool],
    labels: Sequence[Hashable] = (),
    levels: Sequence[int] = (),
) -> list[WrittenBar]:
    """Return the bars of a passage as written, equal ones once.

    ``keys``: two bars with equal keys are played the same. ``resting``: the bar is empty;
    ``plain``: the bar has only slashes. ``labels``: words over the bar, false for none; one that
    stands over the first bar of a run holds for the run. ``levels``: which boundary of the form
    begins with the bar, ``LINE`` or ``TIME``, 0 for none. All have one entry a bar; the last two
    may be left out.
    """
    count = len(keys)
    if all(resting):
        return [WrittenBar(0, rests=count)] if count else []
    folder = _Folder(keys, resting, plain, labels or [None] * count, [PASSAGE, *levels[1:]])
    return list(folder.with_ends_of_times(folder.best()))


@dataclass(frozen=True, slots=True)
class _Repeat:
    """A repeat from a bar on: ``size`` bars, ``times`` times; with ``common`` bars before endings
    for the last time and the others, or 0."""

    size: int
    times: int
    common: int = 0

    @property
    def bars(self) -> int:
        """The number of bars played."""
        return self.size * self.times


class _Folder:
    """Finds the way to write a passage that costs a reader least."""

    def __init__(
        self,
        keys: Sequence[Hashable],
        resting: Sequence[bool],
        plain: Sequence[bool],
        labels: Sequence[Hashable],
        levels: Sequence[int],
    ) -> None:
        self.count = len(keys)
        self.resting, self.plain = resting, plain
        self.keys = list(keys)
        self.labelled_keys = list(zip(keys, labels, strict=True))
        self.levels = [*levels, *[0] * (self.count - len(levels)), PASSAGE]
        self.labels_before = [0, *accumulate(bool(label) for label in labels)]
        """For each bar, the number of labels before it."""
        self.runs: dict[tuple[int, bool], list[int]] = {}

    @cached_property
    def next_boundary(self) -> dict[int, list[int]]:
        """For each level, the next boundary of it or a higher one after each bar."""
        found = {}
        for level in (LINE, TIME, PASSAGE):
            nexts = [self.count] * self.count
            for at in range(self.count - 2, -1, -1):
                nexts[at] = at + 1 if self.levels[at + 1] >= level else nexts[at + 1]
            found[level] = nexts
        return found

    def best(self) -> list[WrittenBar]:
        """Return the written bars of the whole passage."""
        costs = [0] * (self.count + 1)
        choices: list[tuple[int, _Repeat | None]] = [(0, None)] * self.count
        rest_end = self.count
        for at in range(self.count - 1, -1, -1):
            if not self.resting[at]:
                rest_end = at
            until = rest_end if self.resting[at] else at + 1
            costs[at], choices[at] = BAR + costs[until], (until, None)
            for repeat in self.repeats_from(at):
                cost = self.cost_of(at, repeat) + costs[at + repeat.bars]
                # A repeat that costs as much as bars written out begins with them.
                if cost < costs[at] or (cost == costs[at] and choices[at][1] is None):
                    costs[at], choices[at] = cost, (at + repeat.bars, repeat)
        written: list[WrittenBar] = []
        at = 0
        while at < self.count:
            until, chosen = choices[at]
            if chosen is not None:
                written += self.written_repeat(at, chosen)
            else:
                written += self.written_once(at, until)
            at = until
        return written

    def repeats_from(self, at: int) -> Iterator[_Repeat]:
        """Yield the repeats that may begin with a bar, the shortest first."""
        yield from self.repeats_in_line(at)
        for level in (LINE, TIME):
            if self.levels[at] >= level:
                yield from self.repeats_of_units(at, level)
        if at == 0 and self.next_boundary[LINE][0] == self.count:
            yield from self.repeats_of_whole()

    def repeats_in_line(self, at: int) -> Iterator[_Repeat]:
        """Yield the repeats within a line or turn."""
        end = self.next_boundary[LINE][at]
        for size in range(1, min(LONGEST_ROUND, (end - at) // 2) + 1):
            times = min(1 + self.run_of(size, labelled=False)[at] // size, (end - at) // size)
            if times < 2 or self.is_rest(at, at + size):
                continue
            if self.labels_before[at + size * times] > self.labels_before[at + 1]:
                continue
            run = size == 1 and self.plain[at] and times >= SHORTEST_RUN
            if run or size * (times - 1) >= LEAST_SAVED:
                yield _Repeat(size, times)

    def repeats_of_units(self, at: int, level: int) -> Iterator[_Repeat]:
        """Yield the repeats of whole lines, turns or times from a boundary of a level on."""
        limit = self.next_boundary[level + 1][at]
        begins = self.next_boundary[level][at]
        for _ in range(MOST_UNITS):
            size = begins - at
            if at + 2 * size > limit:
                return
            if not self.is_rest(at, begins):
                yield from self.repeats_of_size(at, size, level, limit)
            if begins == self.count:
                return
            begins = self.next_boundary[level][begins]

    def repeats_of_whole(self) -> Iterator[_Repeat]:
        """Yield the repeats of a passage that is one line."""
        for size in range(1, self.count // 2 + 1):
            if self.count % size == 0 and not self.is_rest(0, size):
                yield from self.repeats_of_size(0, size, PASSAGE, self.count)

    def repeats_of_size(self, at: int, size: int, level: int, limit: int) -> Iterator[_Repeat]:
        """Yield the repeats of ``size`` bars whose every time begins and ends at a boundary of a
        level; for that of the passage they fill it, but for a last time that differs."""
        run = self.run_of(size, labelled=True)[at]
        times = 1 + run // size
        while times > 1 and not self.fits(at, size, times, level, limit):
            times -= 1
        whole = at == 0 and size * times == self.count
        common = run - size * (times - 1)
        unlike = level == PASSAGE and not common  # what follows is something else
        least = LEAST_SAVED if unlike else LEAST_SAVED_BY_UNITS
        fills = level != PASSAGE or whole or size * (times + 1) == self.count
        if fills and times > 1 and (whole or size * (times - 1) >= least):
            yield _Repeat(size, times)
        if common >= size or not self.fits(at, size, times + 1, level, limit):
            return
        body = range(at, at + common)
        body_needed = SHORTEST_BODY if times == 1 else SHORTEST_LONG_BODY
        if (
            common >= body_needed
            and size - common <= min(common, LONGEST_ENDING)
            and not all(self.resting[bar] or self.plain[bar] for bar in body)
            and (level != PASSAGE or size * (times + 1) == self.count)
        ):
            yield _Repeat(size, times + 1, common)

    def fits(self, at: int, size: int, times: int, level: int, limit: int) -> bool:
        """Return whether all times of a repeat begin and end at boundaries of a level."""
        end = at + size * times
        if end > limit or (level == PASSAGE and end > self.count):
            return False
        return level == PASSAGE or all(
            self.levels[start] >= level for start in range(at + size, end + 1, size)
        )

    def run_of(self, size: int, *, labelled: bool) -> list[int]:
        """Return for each bar how many bars in a row from it on equal those ``size`` later."""
        known = self.runs.get((size, labelled))
        if known is None:
            keys = self.labelled_keys if labelled else self.keys
            known = [0] * (self.count + 1)
            for at in range(self.count - size - 1, -1, -1):
                known[at] = known[at + 1] + 1 if keys[at] == keys[at + size] else 0
            self.runs[size, labelled] = known
        return known

    def is_rest(self, start: int, end: int) -> bool:
        return all(self.resting[start:end])

    # What is written

    def cost_of(self, at: int, repeat: _Repeat) -> int:
        cost = BAR * sum(1 for _ in self.written_once(at, at + repeat.size)) + REPEAT
        if repeat.common:
            cost += BAR * (repeat.size - repeat.common) + ENDINGS
        return cost

    def written_once(self, start: int, end: int) -> Iterator[WrittenBar]:
        """Yield bars without repeats, rests in a row as one."""
        at = start
        while at < end:
            until = at
            while until < end and self.resting[until]:
                until += 1
            if until > at:
                yield WrittenBar(at, rests=until - at)
                at = until
            else:
                yield WrittenBar(at)
                at += 1

    def written_repeat(self, at: int, repeat: _Repeat) -> list[WrittenBar]:
        if not repeat.common:
            bars = list(self.written_once(at, at + repeat.size))
            bars[0] = replace(bars[0], repeat_start=True)
            return [*bars[:-1], replace(bars[-1], times=repeat.times)]
        early = tuple(range(1, repeat.times))
        branch = at + repeat.common
        bars = list(self.written_once(at, branch))
        bars[0] = replace(bars[0], repeat_start=True)
        first = list(self.written_once(branch, at + repeat.size))
        bars += [replace(bar, ending=early) for bar in first]
        bars[-1] = replace(bars[-1], times=repeat.times)
        last = at + repeat.size * (repeat.times - 1)
        final = self.written_once(last + repeat.common, last + repeat.size)
        return [*bars, *(replace(bar, ending=(repeat.times,)) for bar in final)]

    def with_ends_of_times(self, written: Sequence[WrittenBar]) -> Iterator[WrittenBar]:
        """Yield the written bars, marking those after which the step is played again where no
        repeat sign says so."""
        inside = False
        for number, bar in enumerate(written):
            after = written[number + 1] if number + 1 < len(written) else None
            inside = (inside or bar.repeat_start) and not bar.times
            ends = after is not None and self.levels[after.at] == TIME
            if ends and not inside and not bar.times and after and not after.repeat_start:
                yield replace(bar, ends_time=not bar.ending or not after.ending)
            else:
                yield bar


def bars_in_order(written: Sequence[WrittenBar]) -> Iterator[int]:
    """Yield the index of each bar in the order in which a reader plays them, each bar of a rest
    with its own."""
    at = 0
    while at < len(written):
        if not written[at].repeat_start:
            yield from _played_bars(written[at])
            at += 1
            continue
        until = next(end for end in range(at, len(written)) if written[end].times) + 1
        times = written[until - 1].times
        while until < len(written) and written[until].ending:
            until += 1
        for time in range(1, times + 1):
            for bar in written[at:until]:
                if not bar.ending or time in bar.ending:
                    yield from _played_bars(bar)
        at = until


def _played_bars(bar: WrittenBar) -> range:
    return range(bar.at, bar.at + max(1, bar.rests))


def played_order(written: Sequence[WrittenBar]) -> list[int]:
    """Return the ``at`` of each written bar in the order in which a reader plays them."""
    shown = {played: bar.at for bar in written for played in _played_bars(bar)}
    return [shown[played] for played in bars_in_order(written)]
