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

MOST_OF_A_RULE = 200
"""The most findings of one rule in one piece: nobody reads more, and a hostile file must not take
long."""


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


class Edit(NamedTuple):
    """New text for a place of a file: for the ``spot.width`` characters from there on, line ends
    counted too; with a width of 0 it is put in before that place."""

    spot: Spot
    text: str


class Suggestion(NamedTuple):
    """A thing to try, in words, and the edits that do it; () where only a person can."""

    text: str
    edits: tuple[Edit, ...] = ()


def suggestions(tries: Iterable[str | Suggestion]) -> tuple[Suggestion, ...]:
    """Return things to try as suggestions; those that are given in words only have no edits."""
    return tuple(one if isinstance(one, Suggestion) else Suggestion(one) for one in tries)


@dataclass(frozen=True, slots=True)
class Finding:
    """One message of a rule.

    ``suggestions`` are things to try, plainest first. ``tone`` is the sargam letter a mode rule
    speaks of, so that a liberty can name it. ``liberty`` is the reason given for a departure taken
    on purpose, or None.
    """

    rule: str
    severity: Severity
    spot: Spot
    message: str
    suggestions: tuple[Suggestion, ...] = ()
    place: Place | None = None
    tone: str | None = None
    liberty: str | None = None
    cycle: str = ""
    """The cycle or cycles that it is about, where the piece has more than one."""

    @property
    def tries(self) -> tuple[str, ...]:
        """The things to try in words."""
        return tuple(one.text for one in self.suggestions)

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
