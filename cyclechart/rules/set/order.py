"""Another order of a set: fewer changes of Sa by moving few tunes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cyclechart.piece.set.gig import Gig, GigItem, GigTune, changes_in

MOST_TUNES = 20
"""Of more a better order is not looked for: nobody plays as many without a night between."""


def better_order(gig: Gig) -> list[GigItem] | None:
    """The items in an order with fewer waits for tuning, or None where none is found.

    One tune after another is moved to where it saves most, the least far, as long as that saves
    any. The first and the last tune stay, for they are chosen, and a break stays after as many
    tunes as it stood.
    """
    tunes = list(gig.tunes)
    if len(tunes) > MOST_TUNES:
        return None
    waits = least = _waits(gig, tunes)
    while True:
        best: tuple[int, int, list[GigTune]] | None = None
        for distance, order in _moves(tunes):
            there = _waits(gig, order)
            if there < least and (best is None or (there, distance) < best[:2]):
                best = there, distance, order
        if best is None:
            return _laid_out(gig, tunes) if least < waits else None
        least, _, tunes = best


def _moves(tunes: list[GigTune]) -> Iterator[tuple[int, list[GigTune]]]:
    """(how far, the order) with one tune moved."""
    for old in range(1, len(tunes) - 1):
        rest = [*tunes[:old], *tunes[old + 1 :]]
        for new in range(1, len(tunes) - 1):
            if new != old:
                yield abs(new - old), [*rest[:new], tunes[old], *rest[new:]]


def _laid_out(gig: Gig, tunes: Sequence[GigTune]) -> list[GigItem]:
    left = iter(tunes)
    return [next(left) if isinstance(item, GigTune) else item for item in gig.items]


def _waits(gig: Gig, tunes: Sequence[GigTune]) -> int:
    items = _laid_out(gig, tunes)
    return sum(change.minutes > 0 for change in changes_in(items, gig.setlist.retune))
