"""The tempo marks of a form: a new tempo where a step begins, and steady changes on the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from cyclechart.arrange.bars import Bar
from cyclechart.piece.model import Piece

FASTER, SLOWER = "accel.", "rit."
THROUGH_REPEATS = "through the repeats"
"""What follows the word where its bars are written once and played again: the change is one, and
does not begin anew each time."""


@dataclass(frozen=True, slots=True)
class TempoChange:
    """A steady change of tempo: its word and the beat from which it goes to the end of its strain
    (on a lead sheet and in a part), in beats within the strain."""

    word: str
    start: Fraction = Fraction(0)

    def through_repeats(self) -> TempoChange:
        """Return the same change over bars that are repeated."""
        return replace(self, word=f"{self.word} {THROUGH_REPEATS}")


def change_word(tempo: Fraction, to: Fraction | None) -> str:
    """Return the word of a steady change of tempo, or "" where there is none."""
    if to is None or to == tempo:
        return ""
    return FASTER if to > tempo else SLOWER


def new_tempos(piece: Piece) -> tuple[Fraction | None, ...]:
    """Return for each step the tempo to be marked at its beginning: one that is new, or that a
    steady change arrives at; None for no mark.

    A step without meter has none: the mark stands where the meter is back.
    """
    marks: list[Fraction | None] = []
    running, arrives = piece.state.tempo, False
    for step in piece.steps:
        tempo, to = step.state.tempo, step.state.to_tempo
        new = arrives or tempo != running
        if not piece.is_metered(step):
            marks.append(None)
            arrives = new or bool(change_word(tempo, to))
        else:
            marks.append(tempo if new else None)
            arrives = bool(change_word(tempo, to))
        running = to or tempo
    return tuple(marks)


def tempo_change_of(bars: Sequence[Bar]) -> tuple[Bar, Fraction, str] | None:
    """Return the steady change of tempo in the bars of a step: its first bar, the beat of the
    timeline it begins on, and its word; None where there is none."""
    for bar in bars:
        stretch = bar.stretch
        word = change_word(stretch.tempo, stretch.to_tempo)
        since = stretch.start if stretch.since is None else stretch.since
        if word and since < bar.end:
            return bar, max(since, bar.start), word
    return None
