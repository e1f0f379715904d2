"""What a rule of the set is: a function over a gig with a stable name, a severity, a docstring."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from cyclechart.finding import Finding, Severity, Spot
from cyclechart.piece.gig import Gig

Check = Callable[[Gig, "SetRule"], Iterator[Finding]]


@dataclass(frozen=True)
class SetRule:
    """A rule of the set. ``check`` yields its findings over a gig."""

    name: str
    severity: Severity
    check: Check

    @property
    def help(self) -> str:
        """What ``why`` prints: the docstring, with a wrong and a right example."""
        return inspect.cleandoc(self.check.__doc__ or "")

    def found(self, spot: Spot, message: str, *tries: str) -> Finding:
        """A finding of this rule."""
        return Finding(self.name, self.severity, spot, message, tries)


def set_rule(severity: Severity) -> Callable[[Check], SetRule]:
    """Make a function the check of a rule named after it: ``over_time`` -> over-time."""

    def make(check: Check) -> SetRule:
        name = getattr(check, "__name__", "").replace("_", "-")
        return SetRule(name, severity, check)

    return make
