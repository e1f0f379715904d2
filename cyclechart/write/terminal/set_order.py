"""A set's order by the hour in the terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cyclechart.catalog.hours import clock_hours
from cyclechart.piece.set.gig import Gig, GigItem, GigTune, changes_in
from cyclechart.piece.set.hour_order import by_hour, timed_mode
from cyclechart.text.display import shown
from cyclechart.theory.exact import show_exact

CAUTION = "Hours are those that the modes' entries print; lineages differ, and the leader decides."


def order_rows(gig: Gig) -> Iterator[str]:
    """Yield the tunes by the hour with their old numbers, then what that does to the retuning."""
    items = by_hour(gig)
    tunes = [item for item in items if isinstance(item, GigTune)]
    if not any(clock_hours(timed_mode(tune).hour) for tune in tunes):
        yield "None of the modes in this set has an hour."
        return
    if items == list(gig.items):
        yield "The set is in the order of its modes' hours already:"
    else:
        yield "By the hour:"
    yield from _rows(items)
    before, after = _waits(gig, gig.items), _waits(gig, items)
    if before != after:
        yield f"Waits for retuning: {after}; as the set stands {before}."
    yield CAUTION


def _rows(items: Sequence[GigItem]) -> Iterator[str]:
    rows = []
    number = 0
    for item in items:
        if isinstance(item, GigTune):
            number += 1
            mode = timed_mode(item)
            was = "" if item.tune.number == number else f"was {item.tune.number}"
            keeps = "" if clock_hours(mode.hour) else " (keeps its place)"
            hour = f"{mode.hour or 'no hour'}{keeps}"
            rows.append((f"{number:>3}", shown(item.title), was, mode.name, hour))
        else:
            unit = "minute" if item.minutes == 1 else "minutes"
            rows.append(("", f"break of {show_exact(item.minutes)} {unit}", "", "", ""))
    widths = [max(len(row[at]) for row in rows) for at in range(5)]
    for row in rows:
        said = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        yield said.rstrip()


def _waits(gig: Gig, items: Sequence[GigItem]) -> int:
    return sum(change.minutes > 0 for change in changes_in(items, gig.setlist.retune))
