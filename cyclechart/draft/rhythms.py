"""The rhythm of a drafted line: phrases over the sections of a cycle, and figures in each.

A figure is a row of lengths: ``1`` a beat, ``a`` and ``b`` the two parts of a divided beat (halves,
or the pulses of the cycle's gati), so that ``1a b`` is a dotted beat and what is left of the next.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from random import Random
from typing import NamedTuple

from cyclechart.theory.cycle import Cycle, groups_of

Figure = tuple[Fraction, ...]

_FLOWING: dict[int, tuple[tuple[str, int], ...]] = {
    1: (("1", 4), ("a b", 1)),
    2: (("1 1", 4), ("a b 1", 3), ("1 a b", 3), ("1a b", 3), ("2", 1)),
    3: (("1 1 1", 2), ("2 1", 4), ("1 a b 1", 3), ("1a b 1", 4), ("a b 1 1", 2), ("2 a b", 2)),
    4: (
        ("1 1 1 1", 2), ("2 1 1", 4), ("1 a b 1 1", 3), ("1a b 1 1", 4), ("1 1 a b 1", 3),
        ("a b 1 1 1", 2), ("2 a b 1", 3), ("1a b 1 a b", 2), ("3 1", 1), ("1 1 1a b", 2),
    ),
}  # fmt: skip
"""Figures that go on, by the beats of their group, each with its weight."""

_CLOSING: dict[int, tuple[tuple[str, int], ...]] = {
    1: (("1", 1),),
    2: (("2", 1),),
    3: (("1 2", 4), ("3", 1), ("a b 2", 3)),
    4: (("1 1 2", 4), ("a b 1 2", 3), ("1 3", 2), ("1 a b 2", 3), ("1a b 2", 4), ("2 2", 1)),
}
"""Figures that end a phrase on a longer note."""

SHORTEST_PHRASE = 4
"""The beats that sections are gathered to for one phrase."""
FAST, SLOW = 152, 66
"""Beats a minute beyond which beats are hardly divided, and below which most are."""
SPAN = 8
"""The seconds after which a breath is taken at the next phrase's end."""
LONGEST_BREATH = 11
"""The seconds of the longest breath; winds and voices take up to twelve."""
_LETTERS = ("a", "ab", "abc", "abac", "abacd", "abacdc", "abacdbc", "abacdeac")
"""Which phrases of a line share their rhythm, by their number."""


class Beat(NamedTuple):
    """A note of a drafted rhythm; ``start`` from the first beat of the line's first cycle."""

    start: Fraction
    length: Fraction
    accent: int = 0
    """2 on a first beat, 1 where another section begins."""
    closes: bool = False
    """True for the last note of a phrase."""
    breath: bool = False
    """True if a rest follows it."""
    like: int | None = None
    """The number of the note of an earlier phrase that it comes back to."""


class Group(NamedTuple):
    """Beats that are counted together, within a section."""

    start: Fraction
    size: Fraction


Phrase = tuple[Group, ...]


def phrases_of(cycle: Cycle, cycles: int, tempo: Fraction) -> list[Phrase]:
    """Return the groups of so many cycles, gathered into phrases that end where sections do; at a
    slow tempo they are shorter, so that each lies in one breath."""
    longest = SPAN * tempo / 60
    phrases: list[Phrase] = []
    gathered: list[Group] = []
    for number in range(cycles):
        for start, size in zip(cycle.starts, cycle.sections, strict=True):
            for group in _groups(number * cycle.beats + start, size):
                # A section that is longer than a breath is divided between its groups.
                opens = group.start == number * cycle.beats + start
                coming = size if opens and size <= longest else group.size
                beats = sum(one.size for one in gathered) + coming
                if gathered and beats > longest and (opens or size > longest):
                    phrases.append(tuple(gathered))
                    gathered = []
                gathered.append(group)
            left = (number + 1) * cycle.beats - (number * cycle.beats + start + size)
            long = sum(group.size for group in gathered) >= SHORTEST_PHRASE
            if long and (left == 0 or left >= 3 or cycle.beats < SHORTEST_PHRASE):
                phrases.append(tuple(gathered))
                gathered = []
    if gathered:
        phrases.append(tuple(gathered))
    return phrases


def _groups(start: Fraction, size: Fraction) -> Iterator[Group]:
    """Yield a section in groups of two to four beats; a part of a beat goes with the last."""
    whole, rest = int(size), size % 1
    sizes = [Fraction(group) for group in groups_of(whole)] or [Fraction(0)]
    sizes[-1] += rest
    for group in sizes:
        yield Group(start, group)
        start += group


class Rhythms:
    """Draws figures for the groups of a cycle at a tempo."""

    def __init__(self, cycle: Cycle, tempo: Fraction, chance: Random) -> None:
        self.cycle, self.tempo, self.chance = cycle, tempo, chance
        gati = cycle.gati or 2
        first = {2: Fraction(1, 2), 4: Fraction(1, 2), 9: Fraction(2, 3)}.get(
            gati, Fraction((gati + 1) // 2, gati)
        )
        self.parts = {"a": first, "b": 1 - first}

    def line(
        self,
        phrases: Sequence[Phrase],
        *,
        open_end: bool,
        since: Fraction = Fraction(0),
        held: Fraction = Fraction(0),
    ) -> list[Beat]:
        """Return the notes of several phrases; with ``open_end`` the last one leads on.

        ``since``: where the breath begins that they go on in; ``held``: the beats for which what
        they lead to should be held in the breath of the last phrase.

        Phrases of one letter (a b a c) have one rhythm as far as their groups are alike.
        """
        beats: list[Beat] = []
        drawn: dict[str, tuple[tuple[Fraction, ...], list[Figure], int]] = {}
        letters = _letters(len(phrases))
        for number, (letter, phrase) in enumerate(zip(letters, phrases, strict=True)):
            sizes = tuple(group.size for group in phrase)
            last = number == len(phrases) - 1
            before = drawn.get(letter)
            again = before is not None and before[0] == sizes and not (last and open_end)
            figures = before[1] if before and again else self._figures(sizes, last and open_end)
            first = len(beats)
            beats += self._struck(phrase, figures, closes=not (last and open_end))
            if before and again:
                for offset in range(max(1, len(beats) - first - 2)):
                    beats[first + offset] = beats[first + offset]._replace(like=before[2] + offset)
            drawn.setdefault(letter, (sizes, figures, first))
            end = phrase[-1].start + phrase[-1].size
            following = sum(
                (group.size for coming in phrases[number + 1 : number + 2] for group in coming),
                Fraction(0),
            )
            following += held if number == len(phrases) - 2 else 0
            if not last and self._seconds(end - since + following) > SPAN:
                beats[-1] = _with_breath(beats[-1])
                since = end
        return beats

    def _seconds(self, beats: Fraction) -> Fraction:
        return beats * 60 / self.tempo

    def _figures(self, sizes: Sequence[Fraction], leads_on: bool) -> list[Figure]:
        """Draw the figures of a phrase: flowing ones, and a closing one unless it leads on."""
        kinds = [_FLOWING] * (len(sizes) - 1) + [_FLOWING if leads_on else _CLOSING]
        figures = [self._draw(kind, size) for kind, size in zip(kinds, sizes, strict=True)]
        if leads_on and len(figures[-1]) < 2 <= sizes[-1]:
            figures[-1] = (Fraction(1),) * (int(sizes[-1]) - 1) + (1 + sizes[-1] % 1,)
        return figures

    def _draw(self, kinds: dict[int, tuple[tuple[str, int], ...]], size: Fraction) -> Figure:
        whole, rest = int(size), size % 1
        if whole == 0:
            return (size,)
        choices = kinds[whole]
        weights = [weight * self._fitness(text) for text, weight in choices]
        text = self.chance.choices([text for text, _ in choices], weights)[0]
        lengths = [self.length(word) for word in text.split()]
        lengths[-1] += rest
        return tuple(lengths)

    def _fitness(self, text: str) -> float:
        """Return how well a figure suits the tempo: divided beats where it is slow."""
        divided = "a" in text
        if self.tempo > FAST:
            return 0.1 if divided else 1.0
        if self.tempo < SLOW:
            return 2.0 if divided else 0.5
        return 1.0

    def length(self, word: str) -> Fraction:
        """Return the beats of a word of a figure: ``1``, ``a``, ``1a``."""
        return sum((self.parts.get(sign) or Fraction(sign) for sign in word), Fraction(0))

    def _struck(self, phrase: Phrase, figures: Sequence[Figure], *, closes: bool) -> Iterator[Beat]:
        starts = set(self.cycle.starts)
        for number, (group, figure) in enumerate(zip(phrase, figures, strict=True)):
            at = group.start
            for place, length in enumerate(figure):
                within = at % self.cycle.beats
                accent = 2 if within == 0 else 1 if within in starts else 0
                final = number == len(phrase) - 1 and place == len(figure) - 1
                yield Beat(at, length, accent, closes=final and closes)
                at += length


def _with_breath(beat: Beat) -> Beat:
    """Return a note that gives the end of its length to a rest, whole beats where it can."""
    whole, part = divmod(beat.length, 1)
    if beat.length <= 1:
        held = beat.length / 2
    elif part >= Fraction(1, 2) or whole == 1:
        held = Fraction(whole)
    else:
        held = Fraction(whole) - 1
    return beat._replace(length=held, breath=True)


def _letters(count: int) -> str:
    while count > len(_LETTERS):
        return _LETTERS[-1] + _letters(count - len(_LETTERS))
    return _LETTERS[count - 1] if count else ""
