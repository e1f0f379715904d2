"""What a rule is: a function over a piece with a stable name, a severity and a docstring."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from cyclechart.finding import Finding, Place, Severity, Spot
from cyclechart.piece.model import Line, Piece

Check = Callable[[Piece, "Rule"], Iterator[Finding]]


@dataclass(frozen=True)
class Rule:
    """A rule of the judge. ``check`` yields its findings over a piece."""

    name: str
    severity: Severity
    check: Check

    @property
    def help(self) -> str:
        """What ``why`` prints: the docstring, with a wrong and a right example."""
        return inspect.cleandoc(self.check.__doc__ or "")

    def found(
        self,
        spot: Spot,
        message: str,
        *tries: str,
        place: Place | None = None,
        tone: str | None = None,
    ) -> Finding:
        """A finding of this rule."""
        return Finding(self.name, self.severity, spot, message, tries, place, tone)


def rule(severity: Severity) -> Callable[[Check], Rule]:
    """Make a function the check of a rule named after it: ``late_landing`` -> late-landing."""

    def make(check: Check) -> Rule:
        name = getattr(check, "__name__", "").replace("_", "-")
        return Rule(name, severity, check)

    return make


def measured_lines(piece: Piece) -> Iterator[Line]:
    """The lines that are measured against the cycle; one that could not be read whole is not."""
    return (line for line in piece.lines.values() if not line.free and line.whole)


def place_of(piece: Piece, line: Line, offset: Fraction) -> Place:
    """The musical place of an offset (beats) in a line; a pickup is cycle 0."""
    if line.free:
        return Place(line.name, None, offset + 1)
    number, beat = piece.cycle.place(line.begins - 1 + offset)
    return Place(line.name, number + (line.begins == 1), beat)
