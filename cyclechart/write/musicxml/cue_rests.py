"""The reader's own rest in a cue: at full size, clear of the small notes of another player.

The cue is the upper voice and the rest below it, or the other way round where the cue is low
(E. Gould, Behind Bars, the chapter Preparing Parts, on cues; from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from cyclechart.theory.spelling import LETTERS, Spelled

CLEAR, DISPLACED = 4, 2
"""The staff steps from the cue's nearest note to the rest, at least; and from the middle line."""


class CueRest(NamedTuple):
    """The voices of a cue and of the rest under or over it, and where the rest stands: the step and
    octave of a line, from which it hangs."""

    cue_voice: str
    rest_voice: str
    place: tuple[str, int]


def is_high_cue(notes: Iterable[Spelled], middle: tuple[str, int]) -> bool:
    """Return whether a cue lies in the upper half of the staff, with ``middle`` its middle line."""
    steps = [_staff_step(note.step, note.octave) for note in notes]
    return min(steps, default=0) + max(steps, default=0) >= 2 * _staff_step(*middle)


def cue_rest(notes: Iterable[Spelled], middle: tuple[str, int], *, is_high: bool) -> CueRest:
    """Return the rest in a measure with these notes of a cue; ``middle``: the step and octave of
    the middle line; ``is_high``: the whole cue is the upper voice."""
    center = _staff_step(*middle)
    steps = [_staff_step(note.step, note.octave) - center for note in notes]
    if is_high:
        step = min(-DISPLACED, min(steps) - CLEAR)
        step -= step % 2
    else:
        step = max(DISPLACED, max(steps) + CLEAR)
        step += step % 2
    octave, letter = divmod(center + step, len(LETTERS))
    voices = ("1", "2") if is_high else ("2", "1")
    return CueRest(*voices, (LETTERS[letter], octave))


def _staff_step(step: str, octave: int) -> int:
    return len(LETTERS) * octave + LETTERS.index(step)
