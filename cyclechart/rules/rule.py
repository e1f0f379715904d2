"""Rules: functions over a piece or a gig with a stable name, a severity and a docstring."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice
from typing import Generic, TypeAlias, TypeVar

from cyclechart.finding import (
    MOST_OF_A_RULE,
    Finding,
    Place,
    Severity,
    Spot,
    Suggestion,
    suggestions,
)
from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.theory.cycle import Cycle

Subject = TypeVar("Subject")
"""The subject of a rule: a piece, or a gig."""

MOST_PLACES = 5_000
"""The most places that the findings of one rule are gathered from, for the same reason."""


@dataclass(frozen=True)
class RuleOver(Generic[Subject]):
    """A rule of the judge. ``check`` yields its findings over its subject."""

    name: str
    severity: Severity
    check: Callable[[Subject, RuleOver[Subject]], Iterator[Finding]]

    @property
    def help(self) -> str:
        """The text that ``why`` prints: the docstring, with a wrong and a right example."""
        return inspect.cleandoc(self.check.__doc__ or "")

    def found(
        self,
        spot: Spot,
        message: str,
        *tries: str | Suggestion,
        place: Place | None = None,
        tone: str | None = None,
    ) -> Finding:
        """A finding of this rule."""
        return Finding(self.name, self.severity, spot, message, suggestions(tries), place, tone)


Rule: TypeAlias = RuleOver[Piece]
"""A rule over a piece."""


def rule(
    severity: Severity,
) -> Callable[[Callable[[Subject, RuleOver[Subject]], Iterator[Finding]]], RuleOver[Subject]]:
    """Make a function the check of a rule named after it: ``late_landing`` -> late-landing."""

    def make(
        check: Callable[[Subject, RuleOver[Subject]], Iterator[Finding]],
    ) -> RuleOver[Subject]:
        name = getattr(check, "__name__", "").replace("_", "-")
        return RuleOver(name, severity, check)

    return make


def measured_lines(piece: Piece) -> Iterator[Line]:
    """The lines that are measured against the cycle: read completely, and not only parts of
    others."""
    return (line for line in piece.standing_lines if not line.free and line.whole)


def in_each_cycle(
    piece: Piece, find: Callable[[Line, Cycle], Iterable[Finding]]
) -> Iterator[Finding]:
    """Yield the findings on each measured line in each cycle that it is played in.

    Where the piece has more than one cycle, a finding names its cycles; the same finding in several
    is reported once. A beginning beyond the end of a cycle is reported when the piece is read.
    """
    for line in measured_lines(piece):
        found: dict[Finding, list[str]] = {}
        for cycle in piece.cycles_of(line.name):
            if line.begins < cycle.beats + 1:
                here = piece.line_in(line.name, cycle)
                for finding in islice(find(here, cycle), MOST_OF_A_RULE + 1):
                    found.setdefault(finding, []).append(piece.called(cycle))
        for finding, names in found.items():
            if len(piece.cycles) == 1:
                yield finding
                continue
            within = " and ".join(names)
            yield replace(finding, message=f"in {within}, {finding.message}", cycle=within)


def place_of(piece: Piece, line: Line, offset: Fraction, cycle: Cycle | None = None) -> Place:
    """The musical place of an offset (beats) in a line; a pickup is cycle 0.

    Without a ``cycle``, the place is in the first one that the line is played in.
    """
    if line.free:
        return Place(line.name, None, offset + 1)
    cycle = cycle or next(iter(piece.cycles_of(line.name)), piece.cycle)
    number, beat = cycle.place(line.begins - 1 + offset)
    return Place(line.name, number + (line.begins <= 1 + line.eduppu % cycle.beats), beat)
