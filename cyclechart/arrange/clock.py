"""Converts beats of a score or timeline to seconds, exactly as the MIDI file plays them."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from fractions import Fraction

from cyclechart.arrange.score import TempoMark
from cyclechart.arrange.tempos import tempos_of
from cyclechart.arrange.timeline import Timeline
from cyclechart.arrange.unroller import unroll
from cyclechart.piece.model import Piece

MICROS = 1_000_000
"""Microseconds in a second; a MIDI file gives the length of a beat in whole microseconds."""
_LONGEST_BEAT = 0xFFFFFF

USUAL_TEMPO = Fraction(120)
"""Beats a minute before the first tempo mark of a file (Standard MIDI Files 1.0)."""


class Clock:
    """A converter from beats to seconds, both from the beginning.

    A beat is a whole number of microseconds, so that the clock agrees with the MIDI file exactly
    and fractions stay small.
    """

    def __init__(self, tempos: Sequence[TempoMark]) -> None:
        """Take the tempo marks in order of time; the first also holds before its own time."""
        first = tempos[0].tempo if tempos else USUAL_TEMPO
        self._starts = [Fraction(0)]
        self._micros = [Fraction(0)]
        """Microseconds from the beginning to each start."""
        self._beat_micros = [micros_of(first)]
        """Microseconds of a beat from each start on."""
        for mark in tempos:
            self._micros.append(
                self._micros[-1] + (mark.at - self._starts[-1]) * self._beat_micros[-1]
            )
            self._starts.append(mark.at)
            self._beat_micros.append(micros_of(mark.tempo))

    def seconds(self, time: Fraction) -> Fraction:
        """Return the exact seconds from the beginning to a time in beats."""
        at = max(0, bisect_right(self._starts, time) - 1)
        return (self._micros[at] + (time - self._starts[at]) * self._beat_micros[at]) / MICROS


def micros_of(tempo: Fraction) -> int:
    """Return the microseconds of a beat at a tempo (beats a minute), clipped to MIDI's 24 bits."""
    return min(max(round(60 * MICROS / tempo), 1), _LONGEST_BEAT)


def clock_of(timeline: Timeline) -> Clock:
    """Return the clock of a timeline."""
    return Clock(tempos_of(timeline))


def timeline_seconds(timeline: Timeline) -> Fraction:
    """Return the length of a timeline in seconds, from the count-in to the end of the last note."""
    return clock_of(timeline).seconds(timeline.end)


def minutes_of(piece: Piece) -> Fraction:
    """Return the length of a piece in minutes, as written."""
    return timeline_seconds(unroll(piece)) / 60
