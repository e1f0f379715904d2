"""The tones that a path has in its own direction, by a definition of the tests' own."""

from __future__ import annotations

from collections.abc import Sequence


def in_direction(path: Sequence[int], *, rising: bool) -> set[int]:
    """The tones that a path has in its own direction: not those that it only passes the other way,
    nor those that it only turns on beyond S' rising, or below S falling."""
    found = set()
    for at, pitch in enumerate(path):
        inside = 0 < at < len(path) - 1
        before, after = (path[at - 1], path[at + 1]) if inside else (pitch, pitch)
        other_way = before > pitch > after if rising else before < pitch < after
        if rising:
            beyond = pitch > 12 and before < pitch > after
        else:
            beyond = pitch < 0 and before > pitch < after
        if not other_way and not beyond:
            found.add(pitch % 12)
    return found
