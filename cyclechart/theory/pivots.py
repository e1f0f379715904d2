"""Two modes side by side: the tones of both, and phrases that are legal in both (pivots).

The second mode may have another Sa. Grammars differ by teacher and lineage; the modes' own entries
say whose they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.leaning import chief_tones, resting_tones, tones_to_end_on
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import tone
from cyclechart.theory.turns import turns
from cyclechart.theory.ways import runs_of

Origin = Literal["phrases of both", "phrase", "part of a phrase", "path"]
ORIGINS: tuple[Origin, ...] = ("phrases of both", "phrase", "part of a phrase", "path")
"""Where a pivot is from; the best first."""

WHOLE: tuple[Origin, ...] = ("phrases of both", "phrase")

SHORTEST, LONGEST = 3, 6
"""The notes of a passage that is cut from a path or a phrase."""
LOWEST, HIGHEST = -8, 19
"""The range, in semitones against the first Sa, in which pivots are shown."""


@dataclass(frozen=True, slots=True)
class Pivot:
    """A passage that is legal in both modes: its pitches against the first Sa and the second."""

    first: tuple[int, ...]
    second: tuple[int, ...]
    origin: Origin
    owner: Literal["first", "second", ""]
    """The mode whose phrase or path it is; "" where both have it as a phrase."""


@dataclass(frozen=True)
class ModePair:
    """Two modes, the second with its Sa ``shift`` semitones above the first one's.

    ``shift`` is −6 to 5: the nearer way.
    """

    first: Mode
    second: Mode
    shift: int = 0

    @cached_property
    def common(self) -> tuple[int, ...]:
        """The tones of both, against the first Sa, from it up."""
        return tuple(sorted(self.first.tones & self._second_tones))

    @cached_property
    def leaving(self) -> tuple[int, ...]:
        """The tones of the first mode that the second does not have, against the first Sa."""
        return tuple(sorted(self.first.tones - self._second_tones))

    @cached_property
    def coming(self) -> tuple[int, ...]:
        """The tones that only the second mode has, against the first Sa."""
        return tuple(sorted(self._second_tones - self.first.tones))

    @cached_property
    def _second_tones(self) -> frozenset[int]:
        return frozenset((each + self.shift) % 12 for each in self.second.tones)

    @cached_property
    def ends(self) -> tuple[int, ...]:
        """The tones that a phrase may end on in both modes, against the first Sa."""
        there = {(each + self.shift) % 12 for each in _ends_of(self.second)}
        return tuple(sorted(_ends_of(self.first) & there))

    def seconds_name(self, pitch: int) -> int:
        """Return a pitch against the second Sa."""
        return pitch - self.shift

    def cents_moved(self, tone: int) -> float:
        """Return by how many cents a common tone is higher in the second mode, each mode in its own
        tuning or just intonation, with the two Sas tempered steps apart."""
        there = (tone - self.shift) % 12
        _, before = self.first.sized(tone)
        _, after = self.second.sized(there)
        return (after - 100 * there) - (before - 100 * tone)

    def is_legal(self, pitches: Sequence[int]) -> bool:
        """Return whether a passage (against the first Sa) has no fault in either mode, skips no
        turn and turns on no tone that is left out."""
        there = [self.seconds_name(pitch) for pitch in pitches]
        return all(
            next(judge_breath(mode, path), None) is None and next(turns(mode, path), None) is None
            for mode, path in ((self.first, pitches), (self.second, there))
        )

    def said_of(self, pivot: Pivot) -> str:
        """Return where a pivot is from and what it ends on, in words."""
        owner = {"first": self.first.name, "second": self.second.name}.get(pivot.owner, "")
        source = {
            "phrases of both": "a phrase of both",
            "phrase": f"a phrase of {owner}",
            "part of a phrase": f"part of a phrase of {owner}",
            "path": f"from the paths of {owner}",
        }[pivot.origin]
        old, new = tone(pivot.first[-1]), tone(pivot.second[-1])
        return f"{source}; ends on {old}" + (f", which becomes {new}" if self.shift else "")

    def pivots(self) -> list[Pivot]:
        """Return the pivots, the best first: phrases of both modes, then of one, parts of them,
        passages of the paths. Among equals those that end on the new Sa or on what the second mode
        leans on, then the longer ones. What lies in a better one is left out, but for whole
        phrases."""
        found: dict[tuple[int, ...], Pivot] = {}
        ends = set(self.ends)
        for passage, origin, owner in self._candidates():
            pitches = _in_range(passage)
            if pitches in found or pitches[-1] % 12 not in ends or not self.is_legal(pitches):
                continue
            second = tuple(map(self.seconds_name, pitches))
            found[pitches] = Pivot(pitches, second, origin, owner)
        kept: list[Pivot] = []
        for pivot in sorted(found.values(), key=self._rank):
            inside = any(_lies_in(pivot.first, other.first) for other in kept)
            if pivot.origin in WHOLE or not inside:
                kept.append(pivot)
        return kept

    def _rank(self, pivot: Pivot) -> tuple[int, int, int, tuple[int, ...]]:
        last = pivot.second[-1] % 12
        chief = chief_tones(self.second)
        leans = 0 if last == 0 else 1 if last in chief else 2
        return ORIGINS.index(pivot.origin), leans, -len(pivot.first), pivot.first

    def _candidates(
        self,
    ) -> Iterator[tuple[tuple[int, ...], Origin, Literal["first", "second", ""]]]:
        """Yield passages against the first Sa, the best origins first."""
        ours = [_plain(phrase) for phrase in self.first.phrases]
        theirs = [
            tuple(pitch + self.shift for pitch in _plain(phrase)) for phrase in self.second.phrases
        ]
        ours, theirs = ([one for one in own if len(one) >= SHORTEST] for own in (ours, theirs))
        placed = {_in_range(phrase) for phrase in theirs}
        yield from ((one, "phrases of both", "") for one in ours if _in_range(one) in placed)
        for phrases, owner in _owners(ours, theirs):
            yield from ((one, "phrase", owner) for one in phrases)
        for phrases, owner in _owners(ours, theirs):
            for one in phrases:
                yield from ((part, "part of a phrase", owner) for part in _parts(one))
        for paths, owner in _owners(_ways(self.first, 0), _ways(self.second, self.shift)):
            for one in paths:
                yield from ((part, "path", owner) for part in _parts(one))


def _owners(
    ours: Sequence[tuple[int, ...]], theirs: Sequence[tuple[int, ...]]
) -> tuple[
    tuple[Sequence[tuple[int, ...]], Literal["first"]],
    tuple[Sequence[tuple[int, ...]], Literal["second"]],
]:
    return (ours, "first"), (theirs, "second")


def _ways(mode: Mode, shift: int) -> list[tuple[int, ...]]:
    """Return the printed paths, read on through the octave."""
    return [tuple(pitch + shift for pitch in _plain(way)) for way in mode.ways]


def _plain(pitches: Sequence[int]) -> tuple[int, ...]:
    """Return a passage with its repeated notes once."""
    return tuple(pitch for _, pitch in runs_of(pitches))


def _parts(path: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """Yield the parts of a passage, the longest first."""
    for size in range(min(LONGEST, len(path)), SHORTEST - 1, -1):
        for start in range(len(path) - size + 1):
            yield path[start : start + size]


def _lies_in(passage: tuple[int, ...], other: tuple[int, ...]) -> bool:
    """Return whether a passage is a part of another, in any octave."""
    size = len(passage)
    return any(
        (other[at] - passage[0]) % 12 == 0
        and all(other[at + step] - other[at] == passage[step] - passage[0] for step in range(size))
        for at in range(len(other) - size + 1)
    )


def _in_range(pitches: tuple[int, ...]) -> tuple[int, ...]:
    """Return a passage in the octave in which it lies best between mandra Pa and tar Pa; the same
    passage in another octave comes out the same."""
    low, high = min(pitches), max(pitches)
    middle = (LOWEST + HIGHEST - 1) // 2
    # Whole octaves that bring its middle nearest to that of the range, the lower one of two.
    by = -(((low + high) // 2 - middle + 6) // 12) * 12
    return tuple(pitch + by for pitch in pitches)


def _ends_of(mode: Mode) -> frozenset[int]:
    """Return the tones that a phrase may end on: all where nobody knows any."""
    return tones_to_end_on(mode) or frozenset(resting_tones(mode)) or mode.tones


def shift_between(first: int, second: int) -> int:
    """Return the semitones from one Sa (0 to 11) to another, the nearer way: −6 to 5."""
    return (second - first + 6) % 12 - 6
