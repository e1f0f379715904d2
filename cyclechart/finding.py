"""The Finding: one small immutable value that says what is wrong, where, and what to try.

Every stage of reading returns (value, findings). Detection makes findings, ``rules.judge`` selects
them, ``write.terminal`` renders them; this module knows none of the three.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, NamedTuple, TypeVar

Severity = Literal["error", "warning", "advice"]
Result = TypeVar("Result")


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in a file. ``line`` and ``column`` are 1-based; ``width`` is in characters.

    ``serial`` tells apart, from 1, the notes of a line that stand at one place, since they are
    worked out from another line; 0 for all that is written.
    """

    file: str
    line: int
    column: int
    width: int = 1
    serial: int = 0


class Place(NamedTuple):
    """A place in the music: in which line, which cycle (a pickup is cycle 0), which beat from 1.

    In a free line ``cycle`` is None and the beats count from the line's beginning.
    """

    within: str
    cycle: int | None
    beat: Fraction

    @property
    def cycle_name(self) -> str:
        """The cycle in words: ``pickup``, ``cycle 2``; "" in a free line."""
        if self.cycle is None:
            return ""
        return f"cycle {self.cycle}" if self.cycle else "pickup"


@dataclass(frozen=True, slots=True)
class Finding:
    """One message of a rule.

    ``tries`` are things to try, plainest first. ``tone`` is the sargam letter a mode rule speaks
    of, so that a liberty can name it. ``liberty`` is the reason given for a departure taken on
    purpose, or None.
    """

    rule: str
    severity: Severity
    spot: Spot
    message: str
    tries: tuple[str, ...] = ()
    place: Place | None = None
    tone: str | None = None
    liberty: str | None = None
    cycle: str = ""
    """The cycle or cycles that it is about, where the piece has more than one."""

    @property
    def order(self) -> tuple[str, int, int, str]:
        """The key that a report sorts by: file, line, column, rule."""
        return (self.spot.file, self.spot.line, self.spot.column, self.rule)

    @property
    def counts(self) -> bool:
        """True for an error that no liberty covers."""
        return self.severity == "error" and self.liberty is None


class Findings(list[Finding]):
    """The findings of one stage while it works: its own, and those of the stages it calls."""

    def take(self, read: tuple[Result, Iterable[Finding]]) -> Result:
        """Keep the findings of a stage that was called and return its value."""
        value, findings = read
        self.extend(findings)
        return value

    @property
    def has_errors(self) -> bool:
        """True if one of them is an error."""
        return any(finding.severity == "error" for finding in self)
