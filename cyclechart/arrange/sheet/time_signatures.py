"""Which strains of a sheet show their time signature."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from cyclechart.arrange.sheet.model import Strain
from cyclechart.theory.cycle import Cycle


def with_time_signatures(strains: Sequence[Strain], drawn: Sequence[bool]) -> Iterator[Strain]:
    """Yield the strains, each marked as showing its time signature or not.

    Shown are the first metered staff, every staff in another cycle than the staff before it, and
    every first staff after a free passage. ``drawn`` has one entry a strain: False where no staff
    is drawn, so that nobody can have seen a signature there.
    """
    before: Cycle | None = None
    for strain, is_drawn in zip(strains, drawn, strict=True):
        if strain.free or not strain.measures:
            yield replace(strain, first=False)
            if is_drawn:
                before = None
            continue
        yield replace(strain, first=strain.cycle != before)
        if is_drawn:
            before = strain.cycle
