"""A set in the order of the hours that its modes' entries print."""

from __future__ import annotations

from cyclechart.catalog.hours import clock_hours, order_by_hour
from cyclechart.piece.set.gig import Gig, GigItem, GigTune
from cyclechart.theory.mode import Mode


def timed_mode(tune: GigTune) -> Mode:
    """Return the first mode of a tune that has an hour on the clock; where none has, its own."""
    modes = (tune.piece.mode, *tune.piece.modes)
    return next((mode for mode in modes if clock_hours(mode.hour)), tune.piece.mode)


def by_hour(gig: Gig) -> list[GigItem]:
    """Return the items by the hour; a tune without one keeps its place, and each break stays after
    the same number of tunes."""
    tunes = gig.tunes
    order = order_by_hour([clock_hours(timed_mode(tune).hour) for tune in tunes])
    left = iter([tunes[index] for index in order])
    return [next(left) if isinstance(item, GigTune) else item for item in gig.items]
