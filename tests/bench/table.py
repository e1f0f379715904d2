"""The results of a subject, and its table as plain text."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from timing import growth


@dataclass(frozen=True)
class Target:
    """A number held against its bound: at most it, or at least it."""

    text: str
    value: float | None
    bound: float
    at_least: bool = False

    def __str__(self) -> str:
        bound = f"{'at least' if self.at_least else 'at most'} {self.bound:g}"
        if self.value is None:
            return f"{self.text}: not measured ({bound})"
        met = self.value >= self.bound if self.at_least else self.value <= self.bound
        return f"{self.text}: {self.value:.2f} ({bound}) {'met' if met else 'MISSED'}"


@dataclass(frozen=True)
class Subject:
    """One table: a heading, how it was measured, the rows, and what was aimed at."""

    title: str
    notes: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    targets: tuple[Target, ...]

    def __str__(self) -> str:
        table = [self.head, *self.rows]
        widths = [max(len(row[at]) for row in table) for at in range(len(self.head))]
        lines = []
        for row in table:
            cells = [row[0].ljust(widths[0])]
            cells += [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
            lines.append("  ".join(cells))
        lines.insert(1, "  ".join("-" * width for width in widths))
        parts = [self.title, self.notes.strip(), "", *lines, "", *map(str, self.targets)]
        return "\n".join(parts)


def by_contender(
    seconds: Mapping[int, Mapping[str, float]], against: tuple[str, ...], ours: str
) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Head and rows: size by size each contender's seconds, its time over that of each floor in
    ``against`` and over ours, and in its last row its growth."""
    head = ("notes  writer", "seconds", *(f"/ {name}" for name in against), f"/ {ours}", "growth")
    rows = []
    for count, times in seconds.items():
        for name, taken in times.items():
            ratios = [f"{taken / times[other]:.2f}" for other in (*against, ours)]
            grown = growth_of(seconds, name) if count == 30_000 else None
            last = "" if grown is None else f"{grown:.2f}"
            rows.append((f"{count:>6,} {name}", f"{taken:.4f}", *ratios, last))
    return head, tuple(rows)


def growth_of(seconds: Mapping[int, Mapping[str, float]], name: str) -> float | None:
    """The growth exponent of one contender."""
    return growth({count: times[name] for count, times in seconds.items() if name in times})


def ratio(
    seconds: Mapping[int, Mapping[str, float]], count: int, name: str, other: str
) -> float | None:
    """One contender's time over another's at one size, where both were timed."""
    times = seconds.get(count, {})
    return times[name] / times[other] if name in times and other in times else None
