"""The time that work will take: expected from its cost, corrected by what similar work took."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

TRUST_ALL, TRUST_KIND = 8.0, 4.0
"""Seconds of finished work from which on the measured speed counts more than the expected one: of
the machine, and of a kind of work as against the machine."""


class WorkEstimate:
    """How much work is done, and how long the rest takes on so many cores.

    Work has a kind and a cost, the seconds it is expected to take on one core. The expectation may
    be wrong for a kind, and for the machine: both are learned as work is finished.
    """

    def __init__(self, work: Iterable[tuple[str, float]], cores: int) -> None:
        self.cores = cores
        self.open: defaultdict[str, float] = defaultdict(float)
        """The cost of what is not finished, by kind."""
        self.finished: defaultdict[str, float] = defaultdict(float)
        self.taken: defaultdict[str, float] = defaultdict(float)
        """The seconds that finished work took, by kind."""
        for kind, cost in work:
            self.open[kind] += cost
        self.total = sum(self.open.values())

    @property
    def done(self) -> float:
        """The cost of what is finished."""
        return sum(self.finished.values())

    def finish(self, kind: str, cost: float, seconds: float) -> None:
        """Count work as finished that took so many seconds."""
        self.open[kind] -= cost
        self.finished[kind] += cost
        self.taken[kind] += seconds

    def slowness(self, kind: str) -> float:
        """Return the seconds that work of a kind takes for each second of its cost."""
        machine = (sum(self.taken.values()) + TRUST_ALL) / (self.done + TRUST_ALL)
        own = self.taken[kind] + machine * TRUST_KIND
        return own / (self.finished[kind] + TRUST_KIND)

    def seconds_left(self, longest: float = 0.0) -> float:
        """Return the seconds that the rest takes; ``longest``: the least that one part of it takes
        by itself, however many cores there are."""
        rest = sum(cost * self.slowness(kind) for kind, cost in self.open.items() if cost > 0)
        return max(rest / self.cores, longest)
