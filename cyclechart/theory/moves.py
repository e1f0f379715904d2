"""A mode's movement compiled to a table, once: what each tone may do between which neighbours.

Octave-free: a tone is 0 to 11, a step is in semitones. What the paths and phrases of a mode say of
a move is looked up here and worked out nowhere else. Grammars differ by teacher and lineage; the
mode's own entry says whose it is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from cyclechart.theory.ways import Step, Ways, read_on

Fault = Literal["foreign-tone", "left-out-going-up", "left-out-coming-down"]
Around = tuple[int | None, int | None, int, int | None, int | None]
"""A pitch with the two before it and the two after it; None beyond an edge of the breath."""


class ByPitch(dict[int, bool]):
    """The answers whether a pitch is one of some tones (0 to 11), each worked out once."""

    def __init__(self, tones: Collection[int]) -> None:
        super().__init__()
        self.tones = tones

    def __missing__(self, pitch: int) -> bool:
        self[pitch] = found = pitch % 12 in self.tones
        return found


@dataclass(frozen=True, slots=True, eq=False)
class Moves:
    """The table of a mode. ``rising`` and ``falling`` say of each tone whether a path has it so.

    ``straight_up`` and ``straight_down`` are the moves that a path makes straight; ``ways`` what
    the paths and phrases do in their own surroundings.
    """

    known: tuple[bool, ...]
    doubtful: ByPitch
    """False for the pitches of the tones that both paths have: they are never at fault."""
    rising: tuple[bool, ...]
    falling: tuple[bool, ...]
    straight_up: frozenset[Step]
    straight_down: frozenset[Step]
    ways: Ways

    @classmethod
    def of(
        cls,
        ascents: Sequence[Sequence[int]],
        descents: Sequence[Sequence[int]],
        phrases: Iterable[Sequence[int]],
    ) -> Moves:
        """The table of the printed paths and the phrases that are the mode's own way."""
        phrases = tuple(phrases)
        up, down = (
            {pitch % 12 for path in paths for pitch in path} for paths in (ascents, descents)
        )
        rising = {tone for path in ascents for tone in _going(path, up=True)}
        falling = {tone for path in descents for tone in _going(path, up=False)}
        rises = [way for path in ascents for way in read_on(path, 12)]
        falls = [way for path in descents for way in read_on(path, -12)]
        return cls(
            _marked(up | down | {pitch % 12 for phrase in phrases for pitch in phrase}),
            ByPitch({*range(12)} - (rising & falling)),
            _marked(rising),
            _marked(falling),
            frozenset(_straight(rises, rising=True)),
            frozenset(_straight(falls, rising=False)),
            Ways.of([*rises, *falls, *phrases]),
        )

    def fault(self, before: int | None, this: int, after: int | None) -> Fault | None:
        """Return the fault of a pitch between its neighbours (None at a breath's edge), or None.

        What the mode does there by a way of its own is not looked at: see ``is_own``.
        """
        tone = this % 12
        if not self.known[tone]:
            return "foreign-tone"
        if before is None or after is None:
            return None
        if before < this < after:
            return None if self.rising[tone] else "left-out-going-up"
        if before > this > after:
            return None if self.falling[tone] else "left-out-coming-down"
        return None

    def is_own(self, around: Around) -> bool:
        """Return whether the third of five pitches is passed as the mode's own ways pass it."""
        first, before, this, after, last = around
        if before is None or after is None:
            return False
        return self.ways.has_passage(
            None if first is None else before - first,
            this - before,
            this % 12,
            after - this,
            None if last is None else last - after,
        )

    def fault_at(self, around: Around) -> Fault | None:
        """Return the fault of the third of five pitches, or None where it has none."""
        fault = self.fault(*around[1:4])
        own = fault not in (None, "foreign-tone") and self.is_own(around)
        return None if own else fault

    def turns_on_left_out(self, around: Around) -> bool:
        """Return whether the third of five pitches turns where it is left out: the top of a rise
        and not in an ascent, or the bottom of a fall and not in a descent."""
        first, before, this, after, _ = around
        if before is None or _is_neighbour_of_sa(before, this, after):
            return False
        rises = this > before
        if after is not None and (after > this) == rises:
            return False
        if (self.rising if rises else self.falling)[this % 12]:
            return False
        if after is None:
            return not self.is_own_step(first, before, this, None)
        return not self.is_own(around)

    def skips_turn(self, around: Around) -> bool:
        """Return whether the move from the third of five pitches to the fourth skips a turn."""
        _, before, this, after, last = around
        if after is None or not self.is_skipped(this, after):
            return False
        if _is_neighbour_of_sa(before, this, after) or _is_neighbour_of_sa(this, after, last):
            return False
        return not self.is_own_step(before, this, after, last)

    def is_skipped(self, this: int, after: int) -> bool:
        """Return whether no path makes a move between two of its tones straight.

        What the mode does there by a way of its own is not looked at: see ``is_own_step``.
        """
        rises = after > this
        tones, straight = (
            (self.rising, self.straight_up) if rises else (self.falling, self.straight_down)
        )
        if not tones[this % 12] or not tones[after % 12] or abs(after - this) > 12:
            return False
        return (this % 12, after - this) not in straight

    def never_straight(self, this: int, after: int) -> bool:
        """Return whether a move skips a turn, and no way of the mode makes it anywhere."""
        return self.is_skipped(this, after) and (this % 12, after - this) not in self.ways.steps

    def is_own_step(self, before: int | None, this: int, after: int, last: int | None) -> bool:
        """Return whether the move from ``this`` to ``after`` is one of the mode's own ways, between
        the pitches around it (None at a breath's edge)."""
        return self.ways.has_step(
            None if before is None else this - before,
            this % 12,
            after - this,
            None if last is None else last - after,
        )


def _going(path: Sequence[int], *, up: bool) -> Iterator[int]:
    """Yield the tones (0 to 11) that a path has in its own direction.

    A tone that a descent only passes on a way up, or only turns on below Sa (N in G N, S), is not
    in the descent; an ascent is read the same way round.
    """
    for at, pitch in enumerate(path):
        if 0 < at < len(path) - 1:
            before, after = path[at - 1], path[at + 1]
            against = before > pitch > after if up else before < pitch < after
            turns = pitch > 12 and before < pitch > after
            if not up:
                turns = pitch < 0 and before > pitch < after
            if against or turns:
                continue
        yield pitch % 12


def _is_neighbour_of_sa(before: int | None, this: int, after: int | None) -> bool:
    """Return whether a tone is only touched beside Sa: the one below it on the way to Sa, or the
    one above it between two Sa. Every mode has these turns."""
    if before is None or after is None or after % 12:
        return False
    below = after - 2 <= this < after and before > this
    above = after < this <= after + 2 and before == after
    return below or above


def _marked(tones: set[int]) -> tuple[bool, ...]:
    return tuple(tone in tones for tone in range(12))


def straight_steps(path: Sequence[int], *, rising: bool) -> frozenset[Step]:
    """The moves that a path makes straight, upward ones of an ascent or downward ones of a descent.

    A move is straight when the path, read on through the octave, has the one tone and later the
    other with everything between them rising (falling) strictly.
    """
    return frozenset(_straight(read_on(path, 12 if rising else -12), rising=rising))


def _straight(ways: Iterable[tuple[int, ...]], *, rising: bool) -> Iterator[Step]:
    for way in ways:
        for first, start in enumerate(way):
            before = start
            for pitch in way[first + 1 :]:
                if (pitch > before) != rising or pitch == before:
                    break
                yield start % 12, pitch - start
                before = pitch
