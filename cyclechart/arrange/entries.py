"""Entries of a player's lines one over the other: a new one takes the place of what goes on."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from fractions import Fraction
from typing import Protocol, TypeVar


class Timed(Protocol):
    """A span of time: it begins at a beat and lasts so many."""

    @property
    def start(self) -> Fraction: ...
    @property
    def length(self) -> Fraction: ...


_Entry = TypeVar("_Entry", bound=Timed)


def give_way(
    entries: list[_Entry],
    starts: list[Fraction],
    entry: Fraction,
    cut: Callable[[_Entry, Fraction], _Entry],
) -> None:
    """Drop what would begin at or after a new entry, and ``cut`` what rings into it to a length.

    ``starts`` are the starts of the ``entries``, and stay so.
    """
    kept = bisect_left(starts, entry)
    del entries[kept:], starts[kept:]
    if entries and entries[-1].start + entries[-1].length > entry:
        entries[-1] = cut(entries[-1], entry - entries[-1].start)
