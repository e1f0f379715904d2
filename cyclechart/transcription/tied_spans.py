"""Stretches of a tune that a held note joins: they become one line, so that nothing is struck
again."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from cyclechart.transcription.refusal import LONGEST
from cyclechart.transcription.tune import Tune, TuneVoice

BarSpan = tuple[int, int]


def joined_by_ties(
    tune: Tune, spans: Sequence[BarSpan], played: Sequence[int]
) -> list[tuple[int, ...]]:
    """Return the stretches (indices of spans of bars) in the order in which they are played, with
    those together that a note is held over."""
    bars = tune.bars
    runs: list[tuple[int, ...]] = [(one,) for one in played[:1]]
    for before, after in pairwise(played):
        end, start = bars[spans[before][1] - 1].end, bars[spans[after][0]].start
        if any(_holds(voice, end, start) for voice in tune.voices):
            runs[-1] = (*runs[-1], after)
        else:
            runs.append((after,))
    lengths = (
        bars[spans[one][1] - 1].end - bars[spans[one][0]].start for run in set(runs) for one in run
    )
    return runs if sum(lengths, Fraction(0)) <= LONGEST else [(one,) for one in played]


def _holds(voice: TuneVoice, end: Fraction, start: Fraction) -> bool:
    """Return whether a note goes on from one place of a voice to another."""
    notes = voice.notes
    starts = [note.start for note in notes]
    before = bisect_left(starts, end) - 1
    at = bisect_right(starts, start) - 1
    if before < 0 or at < 0:
        return False
    leaving, coming = notes[before], notes[at]
    goes_on = leaving.end > end or (leaving.end == end and leaving.tied_on)
    comes = coming.end > start and (
        coming.start < start or (coming.start == start and coming.tied_in)
    )
    return goes_on and comes and leaving.pitch == coming.pitch
