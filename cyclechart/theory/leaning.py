"""The weight of a mode: the tones it rests on, the time of its two chief tones, its phrases.

Grammars differ by teacher and lineage; the mode's own entry says whose it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise

from cyclechart.theory.mode import Mode
from cyclechart.theory.ways import runs_of

SA, PA = 0, 7
LONG = 2
"""Beats from which on a held note is a rest of its own."""


def resting_tones(mode: Mode) -> tuple[int, ...]:
    """The tones (0 to 11) that a mode rests on, Sa always; where it says none, its chief tones, Sa
    and Pa.

    None at all of a mode that says neither: nobody knows then what it leans on.
    """
    chief = chief_tones(mode)
    said = (SA, *mode.rests) if mode.rests else (*chief, SA, PA) if chief else ()
    return tuple(sorted({tone % 12 for tone in said} & mode.tones))


def tones_to_end_on(mode: Mode) -> frozenset[int]:
    """The tones (0 to 11) that a breath may end on or a long note hold: Sa, vadi and samvadi, and
    its rests, or all where it names none; never the weak ones. Empty where it names neither rests
    nor weak tones: nobody knows then.
    """
    if not mode.rests and not mode.weak:
        return frozenset()
    named = {tone % 12 for tone in mode.rests} if mode.rests else mode.tones
    return frozenset({SA, *(named | {*chief_tones(mode)}) - {tone % 12 for tone in mode.weak}})


def chief_tones(mode: Mode) -> tuple[int, ...]:
    """Vadi and samvadi, as far as the mode names them."""
    named = (mode.vadi, mode.samvadi)
    return tuple(dict.fromkeys(tone % 12 for tone in named if tone is not None))


def even_share(mode: Mode) -> Fraction:
    """The part of the time that the chief tones have where every tone has the same."""
    return Fraction(len(chief_tones(mode)), len(mode.tones))


def share(mode: Mode, weights: Mapping[int, Fraction]) -> Fraction | None:
    """The part of the sounding time (by tone) that the chief tones have; None of silence."""
    total = sum(weights.values(), Fraction(0))
    if not total:
        return None
    return sum((weights.get(tone, Fraction(0)) for tone in chief_tones(mode)), Fraction(0)) / total


def phrases_used(mode: Mode, breaths: Iterable[Sequence[int]]) -> tuple[tuple[int, ...], ...]:
    """The mode's phrases that stand whole in a breath, in any octave, repeats passed over."""
    lines = [_moves(breath) for breath in breaths]
    return tuple(phrase for phrase in mode.phrases if _stands_in(_moves(phrase), lines))


_Moves = tuple[tuple[int, ...], tuple[int, ...]]
"""The tones of a line without repeats, and the semitones from each to the next."""


def _moves(pitches: Sequence[int]) -> _Moves:
    path = [pitch for _, pitch in runs_of(pitches)]
    steps = tuple(after - before for before, after in pairwise(path))
    return tuple(pitch % 12 for pitch in path), steps


def _stands_in(phrase: _Moves, lines: Iterable[_Moves]) -> bool:
    (tones, steps) = phrase
    size = len(steps)
    return bool(tones) and any(
        tone == tones[0] and line_steps[at : at + size] == steps
        for line_tones, line_steps in lines
        for at, tone in enumerate(line_tones)
    )
