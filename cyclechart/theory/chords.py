"""The triads and sevenths that lie in a set of tones, and those that pull the ear away from Sa.

Chords are stacks of thirds on each tone. What is heard as the root of the chord together with the
drone is weighed by the root supports of R. Parncutt (1988, in the whole numbers of 1997, with the
minor third of 1988 kept; from memory): a tone supports itself as root most, then the tones of which
it is the fifth, the major third, the minor seventh, the major second and the minor third.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

SA = 0

TRIADS: dict[tuple[int, ...], str] = {
    (0, 4, 7): "",
    (0, 3, 7): "m",
    (0, 3, 6): "dim",
    (0, 4, 8): "aug",
}
"""The stacks of two thirds with the sign of each after its root's letter."""

SEVENTHS: dict[tuple[int, ...], str] = {
    (0, 4, 7, 11): "maj7",
    (0, 4, 7, 10): "7",
    (0, 3, 7, 10): "m7",
    (0, 3, 7, 11): "m(maj7)",
    (0, 3, 6, 10): "m7♭5",
    (0, 3, 6, 9): "dim7",
    (0, 4, 8, 11): "maj7♯5",
    (0, 4, 8, 10): "7♯5",
    (0, 4, 6, 10): "7♭5",
}
"""The sevenths of the trade, likewise."""

SUPPORTS = {0: 10, 7: 5, 4: 3, 10: 2, 2: 1, 3: 1}
"""By how much a tone so many semitones above a root supports it."""

_PLAIN = ((0, 4, 7), (0, 3, 7))


@dataclass(frozen=True, slots=True)
class Chord:
    """A chord on a tone (0 to 11) with its sign (``m7``) and its steps above the root."""

    root: int
    sign: str
    steps: tuple[int, ...]

    @property
    def tones(self) -> frozenset[int]:
        """Its tones (0 to 11)."""
        return frozenset((self.root + step) % 12 for step in self.steps)

    @property
    def is_plain(self) -> bool:
        """True if its first three tones are a major or a minor triad."""
        return self.steps[:3] in _PLAIN

    def pulls(self, drone_second: int) -> bool:
        """Return whether it takes the place of Sa as the home that is heard: a plain chord on
        another tone, where over the drone another root than Sa is best supported."""
        if self.root == SA or not self.is_plain:
            return False
        sounding = self.tones | {SA, drone_second % 12}
        return max(support(root, sounding) for root in sounding) > support(SA, sounding)


def support(root: int, sounding: Collection[int]) -> int:
    """Return how strongly some tones that sound together support one of them as the root."""
    return sum(SUPPORTS.get((tone - root) % 12, 0) for tone in sounding)


def triads(tones: Collection[int]) -> Iterator[Chord]:
    """Yield the triads that lie in some tones (0 to 11), from Sa up."""
    return _on_each(tones, TRIADS)


def sevenths(tones: Collection[int]) -> Iterator[Chord]:
    """Yield the sevenths that lie in some tones, from Sa up."""
    return _on_each(tones, SEVENTHS)


def _on_each(tones: Collection[int], kinds: dict[tuple[int, ...], str]) -> Iterator[Chord]:
    held = {tone % 12 for tone in tones}
    for root in sorted(held):
        for steps, sign in kinds.items():
            if all((root + step) % 12 in held for step in steps):
                yield Chord(root, sign, steps)
