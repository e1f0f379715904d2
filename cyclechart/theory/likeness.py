"""The likeness of a line to one mode, against another with the same tones.

Four things are weighed: which tones have the time, where the line rests, whose phrases it has, and
what the paths have against its moves. What a mode does not say counts for nothing in its favour.
Grammars differ by teacher and lineage, and the weights are ours, set so that a line of a mode's
own paths and phrases is never called nearer to another (tests/rules/test_strays.py).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.leaning import SA, chief_tones, phrases_used, resting_tones
from cyclechart.theory.mode import Mode
from cyclechart.theory.turns import turns
from cyclechart.theory.ways import runs_of

FEWEST_NOTES = 8
"""Shorter lines are in no mode more than in another."""
FEWEST_RESTS = 2
FEWEST_TONES = 3
"""A phrase of fewer is anyone's."""
MARGIN = 0.8
"""By so much at least a line is nearer, if anything is to be said."""
SPEAKS = 0.25
"""From so much on one of the four speaks; two of them have to."""
LEANS = 1.25
"""Even shares of the time from which on a line leans on a tone."""
_PHRASES = (0.0, 0.6, 0.9)
"""The worth of no phrase, one, and more than one of a mode's own."""
_RESTS, _MOST_BY_MOVES, _MOVES = 0.75, 0.6, 4
_VADI, _SAMVADI = 2, 1


class Heard(NamedTuple):
    """The tones, rests and breaths of a line, apart from its mode."""

    shares: Mapping[int, float]
    """The part of its time that each tone (0 to 11) has."""
    rests: tuple[int, ...]
    """The tone of each breath's end and of each long note."""
    breaths: tuple[tuple[int, ...], ...]
    """Its pitches, breath by breath."""

    @property
    def notes(self) -> int:
        """The number of its notes, repeats passed over."""
        return sum(len(runs_of(breath)) for breath in self.breaths)

    def time_on(self, tones: Iterable[int]) -> float:
        """The part of its time that some tones have together."""
        return sum(self.shares.get(tone, 0.0) for tone in tones)

    def rests_on(self, tones: Iterable[int]) -> int:
        """Return the number of its rests on some tones."""
        among = set(tones)
        return sum(tone in among for tone in self.rests)


class Nearer(NamedTuple):
    """For how much each of the four counts: above 0 for the other mode, below for its own."""

    lean: float = 0.0
    rests: float = 0.0
    phrases: float = 0.0
    moves: float = 0.0
    has: tuple[tuple[int, ...], ...] = ()
    """The phrases of the other mode that the line has and its own mode has not."""
    against: tuple[int, int] = (0, 0)
    """The number of its moves that its own mode, and the other, do not have."""

    @property
    def total(self) -> float:
        """All four together."""
        return self.lean + self.rests + self.phrases + self.moves

    @property
    def is_clear(self) -> bool:
        """Return whether it is enough to speak of."""
        four = (self.lean, self.rests, self.phrases, self.moves)
        return self.total >= MARGIN and sum(one >= SPEAKS for one in four) > 1


def says_enough(mode: Mode) -> bool:
    """Return whether a mode can be told from another with the same tones: a bare scale cannot."""
    return mode.vadi is not None or bool(mode.rests or mode.phrases)


def compare(own: Mode, other: Mode, heard: Heard) -> Nearer:
    """Return how much nearer a line is to the other mode than to its own."""
    lean, rests = _lean(own, other, heard), _rests(own, other, heard)
    has = _phrases(other, own, heard)
    phrases = _worth(has)
    # What follows takes longer, and is of no use where it could not turn the scale any more.
    if lean + rests + phrases + _MOST_BY_MOVES >= MARGIN:
        phrases -= _worth(_phrases(own, other, heard))
    if lean + rests + phrases + _MOST_BY_MOVES < MARGIN:
        return Nearer(lean, rests, phrases, has=has)
    against = mine, others = _against(own, heard), _against(other, heard)
    moves = max(-1.0, min(_MOST_BY_MOVES, (mine - others) * _MOVES / max(1, heard.notes)))
    if 0 < mine < 2 * others:  # it moves as neither does
        moves = min(moves, 0.0)
    return Nearer(lean, rests, phrases, moves, has, against)


def leaned_on(mode: Mode) -> tuple[int, ...]:
    """Vadi and samvadi without Sa: every line comes home to it, so time on it tells nothing."""
    return tuple(tone for tone in chief_tones(mode) if tone != SA)


def _lean(own: Mode, other: Mode, heard: Heard) -> float:
    """By how many even shares the other's weights are above its own's, the vadi counted twice."""
    if not leaned_on(own) or not leaned_on(other):
        return 0.0
    tones = len(own.up | own.down)
    theirs, mine = _weighed(other, heard) * tones, _weighed(own, heard) * tones
    # A little more than next to nothing is no leaning.
    if theirs > mine and theirs < LEANS:
        return 0.0
    return max(-1.0, min(1.0, theirs - mine))


def _weighed(mode: Mode, heard: Heard) -> float:
    tones = leaned_on(mode)
    weights = [_VADI if tone == mode.vadi else _SAMVADI for tone in tones]
    time = sum(
        weight * heard.shares.get(tone, 0.0) for tone, weight in zip(tones, weights, strict=True)
    )
    return time / sum(weights)


def _rests(own: Mode, other: Mode, heard: Heard) -> float:
    """Return the surplus of rests that are among the other mode's, as a part of all."""
    if len(heard.rests) < FEWEST_RESTS:
        return 0.0
    more = heard.rests_on(resting_tones(other)) - heard.rests_on(resting_tones(own))
    # Of a mode that names no rests the common ones are taken: they may speak against it only.
    if more > 0 and not other.rests:
        return 0.0
    return _RESTS * more / len(heard.rests)


def _phrases(mode: Mode, other: Mode, heard: Heard) -> tuple[tuple[int, ...], ...]:
    """The mode's phrases that the line has and the other mode neither has nor passes through."""
    had = [phrase for phrase in phrases_used(mode, heard.breaths) if _is_own(phrase)]
    if not had:
        return ()
    rising = tuple(pitch + 12 for pitch in other.ascent)
    falling = tuple(pitch - 12 for pitch in other.descent)
    paths: list[Sequence[int]] = [*other.phrases, *_joined(other.ascent, rising)]
    shared = phrases_used(mode, [*paths, *_joined(other.descent, falling)])
    return tuple(phrase for phrase in had if phrase not in shared)


def _is_own(phrase: Sequence[int]) -> bool:
    return len(runs_of(phrase)) >= FEWEST_TONES


def _joined(path: tuple[int, ...], following: tuple[int, ...]) -> list[tuple[int, ...]]:
    """A path, and the same read on into its copy in the next octave where they meet."""
    ways = [path]
    for at, pitch in enumerate(path):
        if pitch in following:
            ways.append((*path[:at], *following[following.index(pitch) :]))
    return ways


def _worth(phrases: Sequence[tuple[int, ...]]) -> float:
    return _PHRASES[min(len(phrases), len(_PHRASES) - 1)]


def _against(mode: Mode, heard: Heard) -> int:
    """Return the number of moves that the paths do not have: faults, and turns of another kind."""
    return sum(
        sum(1 for _ in judge_breath(mode, breath)) + sum(1 for _ in turns(mode, breath))
        for breath in heard.breaths
    )
