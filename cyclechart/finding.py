"""The Finding: one small immutable value that says what is wrong, where, and what to try.

Detection makes findings, ``rules.judge`` selects them, ``write.report`` renders them; this
module knows of none of the three.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

Severity = Literal["error", "warning", "advice"]


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in a file. ``line`` and ``column`` are 1-based; ``width`` is in characters."""

    file: str
    line: int
    column: int
    width: int = 1


@dataclass(frozen=True, slots=True)
class Place:
    """A place in the music: in which line, which cycle (a pickup is cycle 0), which beat from 1.

    In a free line ``cycle`` is None and the beats count from the line's beginning.
    """

    within: str
    cycle: int | None
    beat: Fraction


@dataclass(frozen=True, slots=True)
class Finding:
    """What a rule has to say.

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
    """The cycle or cycles it speaks of, where the piece has more than one."""

    @property
    def order(self) -> tuple[str, int, int, str]:
        """Where it stands in a report: by file, line, column, rule."""
        return (self.spot.file, self.spot.line, self.spot.column, self.rule)

    @property
    def counts(self) -> bool:
        """Whether it is an error that no liberty covers."""
        return self.severity == "error" and self.liberty is None
