"""Another order of a set: fewer changes of Sa by moving few tunes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cyclechart.piece.set.gig import Gig, GigItem, GigTune, changes_in

MOST_TUNES = 20
"""The most tunes of a set for which a better order is searched."""


def better_order(gig: Gig) -> list[GigItem] | None:
    """Return the items in an order with fewer waits for tuning, or None where none is found.

    Tunes are moved one by one, each to the nearest place that saves most, as long as a move saves
    any. The first and the last tune stay, because they are chosen on purpose, and each break stays
    after the same number of tunes.
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
    """Yield the distance and the order for each move of one tune."""
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
