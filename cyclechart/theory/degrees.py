"""Melody moved by the degrees of its mode: along them, mirrored about a tone, into another mode.

A degree is a svara. Both of its forms (N and n) are one degree, unless a path of the mode goes
straight from one to the other (m M): then each is a step of its own. Grammars differ by teacher and
lineage: the result is what the printed paths say, and is judged as any line.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from cyclechart.theory.mode import Mode

LOWEST, HIGHEST = -36, 47
"""The pitches that octave marks can say: three octaves down and three up."""

_NUMBERS = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
"""The number of each tone's svara: S is 0, r and R are 1."""
_NEIGHBOURS = ((1, 2, 3, 4, 2, 2), (3, 4, 1, 2, 3, 1), (8, 9, 10, 11, 9, 6), (10, 11, 8, 9, 10, 5))
"""Southern namesakes: two forms of one letter that stand for two svaras where the other letter is
missing (R2 is G1): both forms, the two of the missing letter, the tone that is renamed, its svara.
"""


def rising_at(pitches: Sequence[int]) -> list[bool]:
    """Return for each note of a breath whether it belongs to a rise: it is reached from below.

    A note struck again goes with the first; the notes before the first move go with that move, and
    a breath on one tone counts as rising.
    """
    moves = [after > before for before, after in pairwise(pitches) if after != before]
    rising = [moves[0] if moves else True][: len(pitches)]
    for before, after in pairwise(pitches):
        rising.append(rising[-1] if after == before else after > before)
    return rising


class Ladder(NamedTuple):
    """Degrees from Sa up: the tones (0 to 11) of each, the lower form first."""

    rungs: tuple[tuple[int, ...], ...]

    @classmethod
    def of(cls, mode: Mode, tones: Collection[int]) -> Ladder:
        """Return the degrees that some tones of a mode are."""
        rungs: list[tuple[int, ...]] = []
        for tone in sorted(tones):
            below = rungs[-1][-1] if rungs else None
            one_svara = below is not None and _NUMBERS[below] == _NUMBERS[tone]
            if below is not None and one_svara and not _is_straight(mode, below):
                rungs[-1] = (*rungs[-1], tone)
            else:
                rungs.append((tone,))
        return cls(tuple(rungs))

    def place(self, pitch: int) -> int | None:
        """Return the number of a pitch's degree, counted from the middle Sa; None for no tone of
        it."""
        octave, tone = divmod(pitch, 12)
        for number, forms in enumerate(self.rungs):
            if tone in forms:
                return octave * len(self.rungs) + number
        return None

    def place_below(self, pitch: int) -> tuple[int, int]:
        """Return the nearest degree at or below a pitch, and the semitones from it."""
        for down in range(13):
            number = self.place(pitch - down)
            if number is not None:
                return number, down
        raise AssertionError("every mode has Sa")

    def pitches(self, number: int) -> tuple[int, ...]:
        """Return the pitches of the forms of a degree, the lower one first."""
        octave, rung = divmod(number, len(self.rungs))
        return tuple(12 * octave + tone for tone in self.rungs[rung])


def _is_straight(mode: Mode, tone: int) -> bool:
    """Return whether a path of a mode goes straight between a tone and the one a semitone above."""
    moves = mode.moves
    return (tone, 1) in moves.straight_up or ((tone + 1) % 12, -1) in moves.straight_down


_LOST = 10
"""The price of a direction that is lost, against 1 or 2 for a way beside a note's own."""


def _way(before: int, after: int) -> int:
    return (after > before) - (after < before)


class Degrees:
    """The degrees of a mode, and melody moved by them."""

    def __init__(self, mode: Mode) -> None:
        moves = mode.moves
        self.tones = mode.tones
        up = frozenset({0, *(tone for tone in range(12) if moves.rising[tone])})
        down = frozenset({0, *(tone for tone in range(12) if moves.falling[tone])})
        self.own = {True: up, False: down}
        """The tones of the ascents (True) and of the descents."""
        self.ways = {way: Ladder.of(mode, tones) for way, tones in self.own.items()}
        self.all = Ladder.of(mode, {0, *mode.tones})
        """All its degrees, those that only phrases or turns of a path have among them."""
        self.numbers = _numbers(mode)

    def has(self, tone: int) -> bool:
        """Return whether a tone is one of its degrees."""
        return self.all.place(tone % 12) is not None

    def moved(self, pitch: int, steps: int, *, rising: bool) -> int:
        """Return a pitch moved so many steps along the mode.

        A rising note goes along the ascent where its tone stands in it, a falling one along the
        descent; else along the path that has the tone, or along all degrees where none has. A tone
        foreign to the mode goes with the nearest degree below it, raised as it was.
        """
        for way in (rising, not rising):
            ladder = self.ways[way]
            number = ladder.place(pitch)
            if number is not None:
                return self._form(ladder.pitches(number + steps), pitch, rising=way)
        number, raised = self.all.place_below(pitch)
        forms = self.all.pitches(number + steps)
        return self._form(forms, pitch - raised, rising=rising) + raised

    def moved_together(self, pitches: Sequence[int], ways: Sequence[bool], steps: int) -> list[int]:
        """Return the pitches of a breath moved so many steps along the mode.

        Each goes as ``moved`` has it, as far as the line then rises and falls as it did; where it
        would not, notes go along all degrees, or along the other path, as few as can be.
        """
        reached: list[dict[int, tuple[int, int]]] = []  # for each note: its cost, the one before
        for at, (pitch, rising) in enumerate(zip(pitches, ways, strict=True)):
            choices = enumerate(self._choices(pitch, steps, rising=rising))
            if not at:
                reached.append({new: (price, 0) for price, new in choices})
                continue
            went = _way(pitches[at - 1], pitch)
            reached.append(
                {
                    new: min(
                        (cost + price + _LOST * (_way(old, new) != went), old)
                        for old, (cost, _) in reached[-1].items()
                    )
                    for price, new in choices
                }
            )
        if not reached:
            return []
        here = min(reached[-1], key=lambda new: (reached[-1][new], new))
        found = [here]
        for costs in reached[:0:-1]:
            here = costs[here][1]
            found.append(here)
        return found[::-1]

    def _choices(self, pitch: int, steps: int, *, rising: bool) -> list[int]:
        """The pitches that one may be moved to, the best first, each once."""
        every = [self.moved(pitch, steps, rising=rising)]
        number = self.all.place(pitch)
        if number is not None:
            every.append(self._form(self.all.pitches(number + steps), pitch, rising=rising))
            every.append(self.moved(pitch, steps, rising=not rising))
        return list(dict.fromkeys(every))

    def mirrored(self, pitch: int, about: int, *, rising: bool) -> int:
        """Return a pitch mirrored about another, along all degrees.

        ``about`` is one of these degrees. ``rising``: the note as it is written belongs to a rise;
        mirrored it falls, and a degree with two forms takes that of the path it is then in. A tone
        foreign to the mode is lowered as it was raised.
        """
        if pitch == about:
            return pitch
        middle, _ = self.all.place_below(about)
        number, raised = self.all.place_below(pitch)
        return self._form(self.all.pitches(2 * middle - number), None, rising=not rising) - raised

    def _form(self, forms: tuple[int, ...], pitch: int | None, *, rising: bool) -> int:
        """Return the form of a degree that a path has: where it has both, or neither, the one that
        stands in its degree as a pitch does in its own; else the higher going up."""
        legal = [form for form in forms if form % 12 in self.own[rising]] or list(forms)
        if len(legal) > 1 and pitch is not None:
            ladder = self.ways[rising]
            number = ladder.place(pitch)
            mates = ladder.pitches(number) if number is not None else ()
            if len(mates) == len(legal):
                return legal[mates.index(pitch)]
        return legal[-1] if rising else legal[0]

    def taken_into(self, other: Degrees, pitch: int, *, rising: bool) -> int:
        """Return a pitch as the same degree of another mode: the third as the other's third.

        Where the other has both forms, that of its path in this direction; where it lacks the
        degree, its nearest tone. A tone foreign to this mode goes with the nearest degree below it.
        """
        raised = 0
        while (pitch - raised) % 12 not in self.tones:
            raised += 1
        base = pitch - raised
        octave, tone = divmod(base, 12)
        own = other.own[rising]
        alike = [one for one in sorted(other.tones) if other.numbers[one] == self.numbers[tone]]
        alike = [one for one in alike if one in own] or alike
        if not alike:
            near = (one for one in range(base - 6, base + 7) if one % 12 in own)
            return min(near, key=lambda one: (abs(one - base), one)) + raised
        if tone in alike:
            return pitch
        return 12 * octave + (alike[-1] if rising else alike[0]) + raised


def _numbers(mode: Mode) -> tuple[int, ...]:
    """The number of the svara that each of the twelve tones is in a mode, S as 0."""
    numbers = list(_NUMBERS)
    for low, high, missing, other, renamed, number in _NEIGHBOURS:
        both = low in mode.tones and high in mode.tones and _is_straight(mode, low)
        if both and missing not in mode.tones and other not in mode.tones:
            numbers[renamed] = number
    return tuple(numbers)


def beyond_marks(pitches: Iterable[int]) -> int | None:
    """Return the first pitch that octave marks cannot say, or None."""
    return next((pitch for pitch in pitches if not LOWEST <= pitch <= HIGHEST), None)
