"""The hours of modes as they are printed, on the clock; and a set's order by them.

The day has four quarters (prahar) from sunrise at six, the night four from sunset, of three hours
each (Hindi handbooks; the customary clock, whatever the sun does). A printed hour is a text such
as ``second quarter of the night``; seasons say no hour.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

DAY = 24
_ORDINALS = {"first": 0, "second": 1, "third": 2, "fourth": 3, "last": 3}
_ORDINAL = re.compile(r"\b(first|second|third|fourth|last)\b")
_QUARTERS = re.compile(r"\bquarters?\b(?: of the (day|night))?")
_WORDS: tuple[tuple[str, float], ...] = (
    ("late evening", 21),
    ("late night", 24),
    ("before dawn", 28),
    ("after dark", 20),
    ("midnight", 24),
    ("afternoon", 14),
    ("noon", 12),
    ("dawn", 5.5),
    ("sunrise", 6),
    ("daybreak", 5.5),
    ("morning", 8),
    ("sunset", 18),
    ("dusk", 18),
    ("twilight", 18),
    ("evening", 19),
    ("night", 21),
)
"""Words for a part of the day and the clock hour at which it stands in an order; a longer one goes
before those that lie in it."""


def clock_hours(text: str) -> tuple[float, ...]:
    """Return the clock hours (0 to 24) that a printed hour names, in its order; () for none."""
    text = text.lower()
    found: list[float] = []
    done = 0
    for match in _QUARTERS.finditer(text):
        before = text[done : match.start()]
        ordinals = _ORDINAL.findall(before)
        found += _said_hours(before)
        if ordinals:
            of_night = "night" in (match[1] or text[match.end() :])
            # A quarter stands where its middle does.
            begin = (18 if of_night else 6) + 1.5
            found += [begin + 3 * _ORDINALS[word] for word in ordinals]
        done = match.end()
    found += _said_hours(text[done:])
    return tuple(dict.fromkeys(hour % DAY for hour in found))


def _said_hours(part: str) -> list[float]:
    """Return the hours of the words in a part of the text, in its order."""
    hours: list[tuple[int, float]] = []
    for word, hour in _WORDS:
        at = re.search(rf"\b{word}s?\b", part)
        if at:
            hours.append((at.start(), hour))
            part = part.replace(word, " " * len(word), 1)
    return [hour for _, hour in sorted(hours)]


def order_by_hour(hours: Sequence[Sequence[float]]) -> list[int]:
    """Return the indices of a set's tunes in the order of the clock.

    Each tune has the hours that it may stand at, or none: then it keeps its place. The clock begins
    where the whole set spans the fewest hours, so that an evening goes on through midnight to dawn;
    a tune with several hours takes the first that comes after that beginning. Of equal spans the
    one with fewest tunes out of place is taken, then the one that begins latest in the day.
    """
    timed = [index for index, named in enumerate(hours) if named]
    best: tuple[float, int, float] | None = None
    order: list[int] = []
    for begin in sorted({hour % DAY for index in timed for hour in hours[index]}, reverse=True):
        after = {index: min((hour - begin) % DAY for hour in hours[index]) for index in timed}
        ranked = sorted(timed, key=after.__getitem__)
        moved = sum(old != new for old, new in zip(timed, ranked, strict=True))
        cost = (max(after.values()), moved, -begin)
        if best is None or cost < best:
            best, order = cost, ranked
    left = iter(order)
    return [next(left) if named else index for index, named in enumerate(hours)]
