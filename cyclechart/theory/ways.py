"""The mode's own ways: what its paths and phrases do, and in which surroundings.

A way is a printed path, read on through the octave, or a phrase. What it does at one place (passes
a tone, steps from one tone to the next) is the mode's own only there: the note before and the note
after must be those of the way too, where the way has them and the line goes on. A breath may begin
or end inside a way. All is octave-free and in semitones.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import compress, pairwise
from operator import ne

Step = tuple[int, int]
"""A tone (0 to 11) and the semitones to the next."""
Passage = tuple[int, int, int]
"""A tone (0 to 11), the semitones by which it is reached and those by which it is left."""
Surroundings = frozenset[tuple[int | None, int | None]]
"""The semitones by which a place is reached and left, each None at an end of its way."""


def starts_of(pitches: Sequence[int]) -> list[int]:
    """The index of the first note of each run of equal pitches."""
    changed = map(ne, pitches[1:], pitches)
    return [*range(min(1, len(pitches))), *compress(range(1, len(pitches)), changed)]


def runs_of(pitches: Sequence[int]) -> list[tuple[int, int]]:
    """(index of first note, pitch) of each run of equal pitches."""
    return [(start, pitches[start]) for start in starts_of(pitches)]


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """The passages (three notes) and steps (two) of a mode's ways, each with its surroundings."""

    passages: Mapping[Passage, Surroundings]
    steps: Mapping[Step, Surroundings]
    asking: frozenset[Step]
    """(tone, semitones by which it is reached) of each passage that has a note before it."""

    @classmethod
    def of(cls, ways: Iterable[Sequence[int]]) -> Ways:
        """Return the table of some ways; notes that repeat count once."""
        passages: dict[Passage, set[tuple[int | None, int | None]]] = defaultdict(set)
        steps: dict[Step, set[tuple[int | None, int | None]]] = defaultdict(set)
        for way in ways:
            path = [pitch for _, pitch in runs_of(way)]
            by = [None, *(b - a for a, b in pairwise(path)), None]
            for at, pitch in enumerate(path[:-1]):
                left = by[at + 1]
                assert left is not None
                steps[pitch % 12, left].add((by[at], by[at + 2]))
                reached = by[at]
                if reached is not None:
                    before = by[at - 1] if at > 1 else None
                    passages[pitch % 12, reached, left].add((before, by[at + 2]))
        return cls(
            {place: frozenset(around) for place, around in passages.items()},
            {place: frozenset(around) for place, around in steps.items()},
            frozenset(
                (tone, reached)
                for (tone, reached, _), around in passages.items()
                if any(before is not None for before, _ in around)
            ),
        )

    def has_passage(
        self, before: int | None, reached: int, tone: int, left: int, after: int | None
    ) -> bool:
        """Return whether a tone is passed so: ``reached`` and ``left`` by these semitones, the note
        ``before`` reached and the note ``after`` left by those (None at an edge of the breath)."""
        around = self.passages.get((tone, reached, left))
        return around is not None and _fits(around, before, after)

    def has_step(self, before: int | None, tone: int, by: int, after: int | None) -> bool:
        """Return whether a step is made so: ``before`` and ``after`` as for a passage."""
        around = self.steps.get((tone, by))
        return around is not None and _fits(around, before, after)

    def afters(
        self, before: int | None, reached: int, tone: int, left: int
    ) -> frozenset[int | None]:
        """Return the semitones by which the note after a passage may be left; None for any."""
        around = self.passages.get((tone, reached, left), frozenset())
        return frozenset(
            own_after
            for own_before, own_after in around
            if before is None or own_before is None or own_before == before
        )

    def asks_before(self, tone: int, reached: int) -> bool:
        """Return whether a way that reaches a tone so asks how the note before was reached."""
        return (tone, reached) in self.asking


def _fits(around: Surroundings, before: int | None, after: int | None) -> bool:
    return any(
        (before is None or own_before is None or own_before == before)
        and (after is None or own_after is None or own_after == after)
        for own_before, own_after in around
    )


def read_on(path: Sequence[int], octave: int) -> Iterator[tuple[int, ...]]:
    """Yield a path, and the path read on into its copy an octave (12 or -12) away.

    It is read on from a pitch that both have; the end of one and the beginning of the next are no
    move of their own.
    """
    whole = tuple(path)
    yield whole
    beyond = tuple(pitch + octave for pitch in whole)
    for at, pitch in enumerate(whole):
        if pitch in beyond:
            yield (*whole[: at + 1], *beyond[beyond.index(pitch) + 1 :])
