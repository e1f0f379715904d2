"""Contenders timed in turn: in each of several rounds every one once, the median of each."""

from __future__ import annotations

import gc
import math
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import median
from time import process_time
from typing import Any

ROUNDS = {300: 15, 3_000: 9, 30_000: 5}
"""By the number of notes."""

SLOW_ROUNDS = 3
"""The most rounds for a slow library, except on the shortest tune."""


@dataclass(frozen=True)
class Contender:
    """A name and what it does; a ``slow`` one gets few rounds."""

    name: str
    run: Callable[[], object]
    slow: bool = False


def medians(contenders: Sequence[Contender], count: int) -> dict[str, float]:
    """Seconds of processor time for each by name, ``count`` notes at a time.

    Processor time, for all run on one thread and other work on the machine must not count. What our
    caches hold is dropped before each run, for a file is written by a fresh process. All that
    stands before the first round is out of the garbage collector's sight, so that nobody pays for
    another's objects; the collector itself stays on.
    """
    times: dict[str, list[float]] = {contender.name: [] for contender in contenders}
    gc.collect()
    gc.freeze()
    for number in range(ROUNDS[count]):
        # To and fro, so that nobody always follows the same one.
        for contender in contenders[:: -1 if number % 2 else 1]:
            if contender.slow and count > 300 and number >= SLOW_ROUNDS:
                continue
            forget()
            gc.collect()
            began = process_time()
            contender.run()
            times[contender.name].append(process_time() - began)
    gc.unfreeze()
    return {name: median(taken) for name, taken in times.items()}


def verify(contenders: Iterable[Contender], notes_in: Callable[[Any], int], count: int) -> None:
    """Nobody is timed on anything but ``count`` notes: what each writes is read and counted."""
    for contender in contenders:
        found = notes_in(contender.run())
        assert found == count, f"{contender.name} wrote {found} notes, not {count}"


def forget() -> None:
    """Empty every cache of our own modules."""
    for name, module in list(sys.modules.items()):
        if name.split(".")[0] == "cyclechart":
            _clear(vars(module).values())


def _clear(values: Iterable[Any]) -> None:
    for value in list(values):
        if callable(getattr(value, "cache_clear", None)):
            value.cache_clear()


def growth(seconds: Mapping[int, float]) -> float | None:
    """The exponent of the time's growth from 3,000 notes to 30,000; 1 is in proportion."""
    short, long = seconds.get(3_000), seconds.get(30_000)
    return math.log10(long / short) if short and long else None
