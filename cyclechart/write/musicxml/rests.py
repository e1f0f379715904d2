"""The division of a rest: by the beats of its section, so that the eye finds them.

Rests are never dotted, for a beat here is a quarter and no meter is compound; a rest of several
beats begins where as many beats could begin, counted in twos and fours from the section's start;
a section of three beats shows each of them. (E. Gould, Behind Bars, the chapters Ground Rules and
Rhythm; G. Read, Music Notation, chapter 7, Rests; K. Stone, Music Notation in the Twentieth
Century, Rests: from memory.)
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

from cyclechart.write.musicxml.note_values import IN_QUARTER, Value, value_of

LONGEST_REST = 4
"""The most beats of a written rest, a whole rest; a silent measure has a measure rest."""


class Section(NamedTuple):
    """A section of a cycle around a measure, or a run of beats in it.

    ``offset``: the ticks from the section's start to that of the measure; ``beats``: the whole
    beats of the section, 0 where there is no meter.
    """

    offset: int
    beats: int

    def rest_beats(self, start: int, end: int, beat: int) -> int:
        """Return the beats of the first value of a rest that begins on a beat line and lasts a beat
        or more."""
        if self.beats == 3:
            return 1
        place = (self.offset + start) // beat
        return _first_part(place, (end - start) // beat, LONGEST_REST)


NO_SECTION = Section(0, 0)
"""Where there is no meter."""


@lru_cache(maxsize=4096)
def rest_values(start: int, length: int) -> tuple[Value, ...]:
    """Return the values of a rest inside a beat or tuplet: none has a dot, and each begins at a
    multiple of its own length. ``start``: counted from the beginning of the beat or tuplet."""
    values = []
    end = start + length
    while start < end:
        longest = LONGEST_REST * IN_QUARTER
        values.append(value_of(_first_part(start, end - start, longest)))
        start += values[-1].size
    return tuple(values)


def _first_part(start: int, length: int, longest: int) -> int:
    """Return the greatest power of two that ``start`` is a multiple of and that is no longer than
    ``length`` and ``longest``."""
    part = 1
    while 2 * part <= min(length, longest) and start % (2 * part) == 0:
        part *= 2
    return part
