"""A mode's movement compiled to a table, once: what each tone may do between which neighbours.

Octave-free: a tone is 0 to 11, a step is in semitones. What the paths and phrases of a mode say of
a move is looked up here and worked out nowhere else. Grammars differ by teacher and lineage; the
mode's own entry says whose it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

Fault = Literal["foreign-tone", "left-out-going-up", "left-out-coming-down"]
Step = tuple[int, int]
"""A tone (0 to 11) and the semitones to the next."""
Passage = tuple[int, int, int]
"""A tone (0 to 11), the semitones by which it is reached and those by which it is left."""


def runs_of(pitches: Sequence[int]) -> list[tuple[int, int]]:
    """(index of first note, pitch) of each run of equal pitches."""
    return [(i, p) for i, p in enumerate(pitches) if i == 0 or p != pitches[i - 1]]


@dataclass(frozen=True, slots=True, eq=False)
class Moves:
    """The table of a mode. ``rising`` and ``falling`` say of each tone whether the path has it."""

    known: tuple[bool, ...]
    rising: tuple[bool, ...]
    falling: tuple[bool, ...]
    straight_up: frozenset[Step]
    straight_down: frozenset[Step]
    own_passages: frozenset[Passage]
    own_steps: frozenset[Step]

    @classmethod
    def of(
        cls, ascent: Sequence[int], descent: Sequence[int], phrases: Iterable[Sequence[int]]
    ) -> Moves:
        """The table of two paths and the phrases that are the mode's own way."""
        up, down = ({pitch % 12 for pitch in path} for path in (ascent, descent))
        passages: set[Passage] = set()
        steps: set[Step] = set()
        held = up | down
        for phrase in phrases:
            held |= {pitch % 12 for pitch in phrase}
            path = [pitch for _, pitch in runs_of(phrase)]
            steps |= {(a % 12, b - a) for a, b in pairwise(path)}
            for before, this, after in zip(path, path[1:], path[2:], strict=False):
                passages.add((this % 12, this - before, after - this))
        return cls(
            _marked(held),
            _marked(up),
            _marked(down),
            straight_steps(ascent, rising=True),
            straight_steps(descent, rising=False),
            frozenset(passages),
            frozenset(steps),
        )

    def fault(self, before: int | None, this: int, after: int | None) -> Fault | None:
        """Return the fault of a pitch between its neighbours (None at a breath's edge), or None."""
        tone = this % 12
        if not self.known[tone]:
            return "foreign-tone"
        if before is None or after is None:
            return None
        if before < this < after:
            if self.rising[tone]:
                return None
            fault: Fault = "left-out-going-up"
        elif before > this > after:
            if self.falling[tone]:
                return None
            fault = "left-out-coming-down"
        else:
            return None
        return None if (tone, this - before, after - this) in self.own_passages else fault

    def is_own(self, before: int | None, this: int, after: int | None) -> bool:
        """Return whether a pitch between its neighbours stands so in one of the mode's phrases."""
        if before is None or after is None:
            return False
        return (this % 12, this - before, after - this) in self.own_passages

    def turns_left_out(self, before: int, this: int, after: int | None) -> bool:
        """Return whether a pitch turns where it is left out: the top of a rise and not in the
        ascent, or the bottom of a fall and not in the descent."""
        rises = this > before
        if after is not None and (after > this) == rises:
            return False
        return not (self.rising if rises else self.falling)[this % 12]

    def is_skipped(self, this: int, after: int) -> bool:
        """Return whether the path never makes a move between two of its tones straight."""
        rises = after > this
        tones, straight = (
            (self.rising, self.straight_up) if rises else (self.falling, self.straight_down)
        )
        if not tones[this % 12] or not tones[after % 12] or abs(after - this) > 12:
            return False
        step = (this % 12, after - this)
        return step not in straight and step not in self.own_steps


def _marked(tones: set[int]) -> tuple[bool, ...]:
    return tuple(tone in tones for tone in range(12))


def straight_steps(path: Sequence[int], *, rising: bool) -> frozenset[Step]:
    """The moves that a path makes straight, upward ones of an ascent or downward ones of a descent.

    A move is straight when the path, read on through the octave, has the one tone and later the
    other with everything between them rising (falling) strictly. The path is followed through its
    copies an octave up and down from a pitch that both have; the end of one and the beginning of
    the next are no move of their own.
    """
    return frozenset(_straight(tuple(path), rising))


def _straight(path: tuple[int, ...], rising: bool) -> Iterator[Step]:
    beyond = tuple(pitch + (12 if rising else -12) for pitch in path)
    ways = [path]
    for at, pitch in enumerate(path):
        if pitch in beyond:
            ways.append((*path[: at + 1], *beyond[beyond.index(pitch) + 1 :]))
    for way in ways:
        for first, start in enumerate(way):
            before = start
            for pitch in way[first + 1 :]:
                if (pitch > before) != rising or pitch == before:
                    break
                yield start % 12, pitch - start
                before = pitch
