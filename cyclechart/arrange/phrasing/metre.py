"""The weight of each place in a cycle: sam, stressed beats, open sections, parts of a beat."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from fractions import Fraction
from functools import lru_cache

from cyclechart.arrange.roles.theka_variations import is_open
from cyclechart.arrange.timeline import Stretch, Timeline
from cyclechart.theory.cycle import Cycle

SAM, STRESSED, BEAT, HALF_BEAT, BETWEEN = 1.0, 0.6, 0.0, -0.5, -0.8
"""The weight of sam, of a stressed beat, of any other beat, of the half of a beat, and of what
lies elsewhere in it (our choice of figures)."""
OPEN = -0.4
"""Added in an open section (khali): it is played lighter (common practice)."""


def metre_weights(timeline: Timeline, times: Iterable[Fraction]) -> Iterator[float]:
    """Yield the weight of each time (beats of the timeline, in order), -1 to 1; 0 where there is no
    meter."""
    here: Stretch | None = None
    for time in times:
        if here is None or not here.start <= time < here.end:
            here = timeline.at(time)
        yield metre_weight(here, time)


def metre_weight(here: Stretch, time: Fraction) -> float:
    """Return the weight of a time within a stretch, -1 to 1; 0 where it has no meter."""
    if here.kind == "free":
        return 0.0
    # A count-in may be shorter than its cycle: it is counted from its end.
    first = here.end if here.kind == "count-in" else here.start
    return place_weight(here.cycle, (time - first) % here.cycle.beats)


@lru_cache(maxsize=4096)
def place_weight(cycle: Cycle, within: Fraction) -> float:
    """Return the weight of a place in a cycle, ``within`` beats from its start."""
    if within == 0:
        return SAM
    walk = cycle.walk()
    _, beat, _ = walk[bisect_right(walk, within, key=lambda one: one[1]) - 1]
    if within != beat:
        weight = HALF_BEAT if within - beat == Fraction(1, 2) else BETWEEN
    else:
        weight = STRESSED if beat + 1 in cycle.stressed else BEAT
    return max(-1.0, weight + (OPEN if is_open(cycle, within) else 0))
