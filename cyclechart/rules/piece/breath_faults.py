"""The faults and the turns of a breath, worked out once: several rules ask for them, and an editor
with each change of the text."""

from __future__ import annotations

from functools import lru_cache

from cyclechart.theory.grammar import Verdict, judge_breath
from cyclechart.theory.mode import Mode
from cyclechart.theory.turns import ModeTurn, turns

MOST_BREATHS = 4096
"""The breaths that are remembered: a piece has a few hundred."""


@lru_cache(maxsize=MOST_BREATHS)
def verdicts_of(mode: Mode, pitches: tuple[int, ...]) -> tuple[Verdict, ...]:
    """Return every fault of one breath, in order."""
    return tuple(judge_breath(mode, pitches))


@lru_cache(maxsize=MOST_BREATHS)
def turns_of(mode: Mode, pitches: tuple[int, ...]) -> tuple[ModeTurn, ...]:
    """Return the skipped and wrong turns of one breath, in order."""
    return tuple(turns(mode, pitches))
