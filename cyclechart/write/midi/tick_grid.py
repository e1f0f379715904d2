"""The grid of ticks on which a score stands in its MIDI file."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from fractions import Fraction

from cyclechart.arrange.score import Hit, Score, Sound
from cyclechart.theory.ticks import grid_for, to_tick


@dataclass(frozen=True)
class TickGrid:
    """A number of ticks a beat. ``exact``: every time of the score is on a tick."""

    ticks: int
    exact: bool

    def tick(self, time: Fraction) -> int:
        """Return the tick of a time in beats, or the nearest one."""
        whole, rest = divmod(self.ticks, time.denominator)
        return time.numerator * whole if not rest else to_tick(time, self.ticks)

    def span(self, event: Sound | Hit) -> tuple[int, int]:
        """Return the ticks on which an event begins and ends."""
        start = self.tick(event.start)
        if self.exact:
            # Exact ticks add up; rounded ones may not.
            return start, start + self.tick(event.length)
        return start, self.tick(event.start + event.length)


def tick_grid(score: Score) -> TickGrid:
    """Return the grid of a score.

    Where not all times can be on a tick, written times (the marks, and the starts of hits and
    sounds with a text, but for a drone's) come before those that ornaments, endings and the hand of
    a drone's player add. (A grid that has the start and the length of a sound also has its end;
    points of a curve go to the nearest tick.)
    """
    written = {1, score.end.denominator}
    added: set[int] = set()
    for marks in (score.tempos, score.meters, score.markers):
        written.update(mark.at.denominator for mark in marks)
    for part in score.parts:
        for event in itertools.chain[Sound | Hit](part.sounds, part.hits):
            is_written = bool(event.text) and not part.role.is_drone
            (written if is_written else added).add(event.start.denominator)
            added.add(event.length.denominator)
    ticks, lost = grid_for(written | added)
    if not lost:
        return TickGrid(ticks, exact=True)
    for denominator in sorted(added - written):
        if not grid_for(written | {denominator})[1]:
            written.add(denominator)
    return TickGrid(grid_for(written)[0], exact=False)
