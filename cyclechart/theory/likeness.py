"""The likeness of a line to one mode, against another with the same tones or nearly the same.

Six things are weighed: which tones have the time, where the line rests, whose phrases it has, what
the paths have against its moves, the register it moves in, and the tones that it never uses. What a
mode does not say counts for nothing in its favour.
Grammars differ by teacher and lineage, and the weights are ours, set so that a line of a mode's
own paths and phrases is never called nearer to another (tests/rules/test_strays.py).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from types import MappingProxyType
from typing import NamedTuple

from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.leaning import LONG, PA, SA, chief_tones, phrases_used, resting_tones
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
"""From so much on one of the six speaks; two of them have to."""
LEANS = 1.25
"""Even shares of the time from which on a line leans on a tone."""
_PHRASES = (0.0, 0.6, 0.9)
"""The worth of no phrase, one, and more than one of a mode's own."""
_RESTS, _MOST_BY_MOVES, _MOVES = 0.75, 0.6, 4
_VADI, _SAMVADI = 2, 1
_REGISTER, _UNUSED, _MOST_UNUSED = 1.0, 0.3, 0.6
ENOUGH_TO_MISS = 12
"""The notes from which on a tone that a line never uses tells something."""


class Heard(NamedTuple):
    """The tones, rests and breaths of a line, apart from its mode."""

    shares: Mapping[int, float]
    """The part of its time that each tone (0 to 11) has."""
    rests: tuple[int, ...]
    """The tone of each breath's end and of each long note."""
    breaths: tuple[tuple[int, ...], ...]
    """Its pitches, breath by breath."""
    registers: Mapping[str, float] = MappingProxyType({})
    """The part of its time that it has in each of the registers of a mode."""

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


def hear(breaths: Iterable[Sequence[tuple[int, Fraction]]]) -> Heard:
    """Return what a listener notices of a line, given as (pitch, beats) of each note by breath.

    The parts of its time are only compared, so floating point is exact enough.
    """
    time: dict[int, Fraction] = {}
    registers: dict[str, Fraction] = {}
    rests = []
    paths = []
    for breath in breaths:
        for number, (pitch, beats) in enumerate(breath, start=1):
            time[pitch % 12] = time.get(pitch % 12, Fraction(0)) + beats
            for register in register_of(pitch):
                registers[register] = registers.get(register, Fraction(0)) + beats
            if number == len(breath) or beats >= LONG:
                rests.append(pitch % 12)
        paths.append(tuple(pitch for pitch, _ in breath))
    total = sum(time.values()) or Fraction(1)
    return Heard(
        {tone: float(part / total) for tone, part in time.items() if part},
        tuple(rests),
        tuple(paths),
        {name: float(part / total) for name, part in registers.items()},
    )


def register_of(pitch: int) -> tuple[str, ...]:
    """Return the registers (of ``REGISTERS``) in which a pitch lies."""
    half = "purvang" if pitch % 12 < PA else "uttarang"
    octave = "mandra" if pitch < 0 else "tar" if pitch > 12 else ""
    return (half, octave) if octave else (half,)


class Nearer(NamedTuple):
    """For how much each of the six counts: above 0 for the other mode, below for its own."""

    lean: float = 0.0
    rests: float = 0.0
    phrases: float = 0.0
    moves: float = 0.0
    register: float = 0.0
    unused: float = 0.0
    has: tuple[tuple[int, ...], ...] = ()
    """The phrases of the other mode that the line has and its own mode has not."""
    against: tuple[int, int] = (0, 0)
    """The number of its moves that its own mode, and the other, do not have."""

    @property
    def total(self) -> float:
        """All six together."""
        return sum(self.six)

    @property
    def six(self) -> tuple[float, ...]:
        """Each of the six by itself."""
        return self.lean, self.rests, self.phrases, self.moves, self.register, self.unused

    @property
    def is_clear(self) -> bool:
        """Return whether it is enough to speak of."""
        return self.total >= MARGIN and sum(one >= SPEAKS for one in self.six) > 1


def says_enough(mode: Mode) -> bool:
    """Return whether a mode can be told from another with the same tones: a bare scale cannot."""
    return mode.vadi is not None or bool(mode.rests or mode.phrases)


def compare(own: Mode, other: Mode, heard: Heard) -> Nearer:
    """Return how much nearer a line is to the other mode than to its own."""
    nearer = Nearer(
        lean=_lean(own, other, heard),
        rests=_rests(own, other, heard),
        register=_register(own, other, heard),
        unused=_unused(own, other, heard),
        has=(has := _phrases(other, own, heard)),
        phrases=_worth(has),
    )
    # What follows takes longer, and is of no use where it could not turn the scale any more.
    if nearer.total + _MOST_BY_MOVES >= MARGIN:
        nearer = nearer._replace(phrases=nearer.phrases - _worth(_phrases(own, other, heard)))
    if nearer.total + _MOST_BY_MOVES < MARGIN:
        return nearer
    against = mine, others = _against(own, heard), _against(other, heard)
    moves = max(-1.0, min(_MOST_BY_MOVES, (mine - others) * _MOVES / max(1, heard.notes)))
    if 0 < mine < 2 * others:  # it moves as neither does
        moves = min(moves, 0.0)
    if mine == 1:  # one wrong note is no other mode
        moves = min(moves, 0.0)
    return nearer._replace(moves=moves, against=against)


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


def _register(own: Mode, other: Mode, heard: Heard) -> float:
    """Return how much more of its time the line has in the register of the other mode than in that
    of its own; 0 where one of them names none or both the same."""
    if not own.register or not other.register or own.register == other.register:
        return 0.0
    more = heard.registers.get(other.register, 0.0) - heard.registers.get(own.register, 0.0)
    return max(-_REGISTER, min(_REGISTER, more))


def _unused(own: Mode, other: Mode, heard: Heard) -> float:
    """Return how much the tones tell that only one of the modes has, and that the line never uses:
    for the mode without them, in a line of some length."""
    if heard.notes < ENOUGH_TO_MISS:
        return 0.0
    ours, theirs = own.up | own.down, other.up | other.down
    missing = sum(tone not in heard.shares for tone in ours - theirs)
    needless = sum(tone not in heard.shares for tone in theirs - ours)
    return max(-1.0, min(_MOST_UNUSED, _UNUSED * missing)) - _UNUSED * needless


def _phrases(mode: Mode, other: Mode, heard: Heard) -> tuple[tuple[int, ...], ...]:
    """The mode's phrases that the line has and the other mode neither has nor passes through."""
    had = [phrase for phrase in phrases_used(mode, heard.breaths) if _is_own(phrase)]
    if not had:
        return ()
    shared = phrases_used(mode, [*other.phrases, *other.ways])
    return tuple(phrase for phrase in had if phrase not in shared)


def _is_own(phrase: Sequence[int]) -> bool:
    return len(runs_of(phrase)) >= FEWEST_TONES


def _worth(phrases: Sequence[tuple[int, ...]]) -> float:
    return _PHRASES[min(len(phrases), len(_PHRASES) - 1)]


def _against(mode: Mode, heard: Heard) -> int:
    """Return the number of moves that the paths do not have: faults, and turns of another kind."""
    return sum(
        sum(1 for _ in judge_breath(mode, breath)) + sum(1 for _ in turns(mode, breath))
        for breath in heard.breaths
    )
