"""A time signature written where a cycle's name belongs: 4/4, 7/8, 3+2+2/8."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction
from typing import NamedTuple

from cyclechart.finding import Finding, Spot, suggestions
from cyclechart.theory.cycle import groups_of

_SIGNATURE = re.compile(r"\s*(\d{1,3}(?:\s*\+\s*\d{1,3})*)\s*/\s*(1|2|4|8|16|32)\s*")
MOST = 6
"""The most cycles of one length that are named."""
MAX_BEATS, MAX_GROUPS = 256, 64
"""The most beats and sections of a cycle that can be written out."""


class TimeSignature(NamedTuple):
    """A time signature as it is written, and its beats in groups."""

    text: str
    groups: tuple[int, ...]

    @property
    def beats(self) -> int:
        """The number of its beats, one for each note value that it counts."""
        return sum(self.groups)

    def finding(self, spot: Spot, of_beats: Callable[[Fraction], list[str]]) -> Finding:
        """Return the finding on it, with the cycles of as many beats, of two bars and, where a bar
        is short, of four."""
        message = (
            f"{self.text} is a time signature, not a cycle: it counts beats and says nothing of "
            "claps and waves. Which cycle is meant?"
        )
        bars = (1, 2, 4) if self.beats <= 4 else (1, 2)
        tries = (self._named(of_beats, count * self.beats) for count in bars)
        sections = ", ".join(map(str, self.groups))
        own = f"write it out: cycle: {{beats: {self.beats}, sections: [{sections}], stressed: [1]}}"
        return Finding(
            "unknown-name", "error", spot, message, suggestions((*filter(None, tries), own))
        )

    @staticmethod
    def _named(of_beats: Callable[[Fraction], list[str]], beats: int) -> str:
        names = of_beats(Fraction(beats))
        return f"of {beats} beats: {', '.join(names[:MOST])}" if names else ""


def time_signature(name: str) -> TimeSignature | None:
    """Return the time signature that a name is, or None."""
    match = _SIGNATURE.fullmatch(name[:40])
    if match is None:
        return None
    counts = tuple(map(int, match[1].split("+")))
    beats = sum(counts)
    if 0 in counts or beats > MAX_BEATS or len(counts) > MAX_GROUPS:
        return None
    if len(counts) == 1:
        # Compound time (6/8, 9/8, 12/8) goes in threes.
        threes = int(match[2]) >= 8 and beats % 3 == 0 and beats <= 3 * MAX_GROUPS
        counts = (3,) * (beats // 3) if threes else tuple(groups_of(beats))
    return TimeSignature("".join(name.split()), counts)
