"""Courtesy signatures: at the end of a staff, the key and the meter of the next one.

(E. Gould, Behind Bars, on key signatures and time signatures at a new system; from memory.)
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from cyclechart.arrange.sheet.model import StaffKey, Strain
from cyclechart.theory.cycle import Cycle


@dataclass(frozen=True)
class Courtesy:
    """The key and the cycle of the next staff where they differ; None where they do not."""

    key: StaffKey | None
    cycle: Cycle | None


def courtesies(strains: Sequence[Strain]) -> Iterator[Courtesy | None]:
    """Yield for each strain that is drawn the courtesy at its end; None where nothing changes."""
    for strain, following in pairwise([*strains, None]):
        if strain is not None:
            yield courtesy_before(strain, following)


def courtesy_before(strain: Strain, following: Strain | None) -> Courtesy | None:
    """Return the courtesy at the end of a strain before the next one that is drawn.

    After a D.S. another strain comes next than the one below, and there is none.
    """
    if following is None or any("D.S." in jump for m in strain.measures for jump in m.jumps):
        return None
    same_staff = strain.kind == following.kind
    changes_key = (
        same_staff and strain.kind == "melody" and strain.key.alters != following.key.alters
    )
    changes_cycle = following.first and not strain.free and following.cycle != strain.cycle
    if not changes_key and not changes_cycle:
        return None
    return Courtesy(
        following.key if changes_key else None, following.cycle if changes_cycle else None
    )
