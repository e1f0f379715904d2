"""The level of what a player's role makes up: figures, chords, theka, in the cycles of a turn.

It follows the metre, and leads over some cycles towards the next sam.
"""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction

from cyclechart.arrange.phrasing.metre import metre_weight
from cyclechart.arrange.roles.turn_cycles import PERIOD
from cyclechart.arrange.timeline import Stretch, Timeline

ROOM = 5
"""The most velocity that is added or taken off."""
METRE, LEAD = 0.55, 0.45
"""The shares of the room that metre and lead have. What is played with the weight of its place
already keeps to a third of the metre's."""
WEIGHTED = 1 / 3


class AccompanimentLifts:
    """The lifts of a timeline, worked out once for each time and weight."""

    def __init__(self, timeline: Timeline, *, weighted: bool) -> None:
        """``weighted``: the part has the weight of its places in the cycle already."""
        self.timeline = timeline
        self.metre = METRE * (WEIGHTED if weighted else 1)
        self.turn_starts = _turn_starts(timeline)
        self.known: dict[Fraction, int] = {}
        self.here: Stretch | None = None

    def at(self, time: Fraction) -> int:
        """Return the velocity that is added to what begins at a time in beats."""
        lift = self.known.get(time)
        if lift is None:
            lift = self.known[time] = self._lift(time)
        return lift

    def _lift(self, time: Fraction) -> int:
        here = self.here
        if here is None or not here.start <= time < here.end:
            here = self.here = self.timeline.at(time)
        if here.kind != "metered":
            return 0
        turn = self.turn_starts[bisect_right(self.turn_starts, here.start) - 1]
        period = float(PERIOD * here.cycle.beats)
        along = float(time - turn) % period / period
        moved = self.metre * metre_weight(here, time) + LEAD * (2 * along - 1)
        return round(ROOM * moved)


def _turn_starts(timeline: Timeline) -> list[Fraction]:
    """Return where the turns of the steps begin, and where their cycle or mode changes."""
    starts: list[Fraction] = []
    before: Stretch | None = None
    for stretch in timeline.stretches:
        goes_on = before is not None and (
            (before.step, before.turn, before.cycle, before.kind)
            == (stretch.step, stretch.turn, stretch.cycle, stretch.kind)
        )
        if not goes_on:
            starts.append(stretch.start)
        before = stretch
    return starts or [Fraction(0)]
