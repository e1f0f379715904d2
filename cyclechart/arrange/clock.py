"""The clock: seconds at any beat of a score or timeline, as the MIDI file plays it."""

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
"""A MIDI file says in whole microseconds how long a beat is: so many are in a second."""
_LONGEST_BEAT = 0xFFFFFF

USUAL_TEMPO = Fraction(120)
"""What a file is played at before its first tempo (Standard MIDI Files 1.0)."""


class Clock:
    """Seconds at any time (beats) from the beginning. A beat is whole microseconds long, so that
    the clock agrees with the MIDI file to the last one and sums stay short."""

    def __init__(self, tempos: Sequence[TempoMark]) -> None:
        """``tempos``: from when on each holds, in order. The first holds before it too."""
        first = tempos[0].tempo if tempos else USUAL_TEMPO
        self._starts = [Fraction(0)]
        self._micros = [Fraction(0)]
        """From the beginning to each start."""
        self._beat_micros = [micros_of(first)]
        """Microseconds of a beat from each start on."""
        for mark in tempos:
            self._micros.append(
                self._micros[-1] + (mark.at - self._starts[-1]) * self._beat_micros[-1]
            )
            self._starts.append(mark.at)
            self._beat_micros.append(micros_of(mark.tempo))

    def seconds(self, time: Fraction) -> Fraction:
        """From the beginning to a time, exact."""
        at = max(0, bisect_right(self._starts, time) - 1)
        return (self._micros[at] + (time - self._starts[at]) * self._beat_micros[at]) / MICROS


def micros_of(tempo: Fraction) -> int:
    """Microseconds of a beat as a MIDI file has them: 24 bits."""
    return min(max(round(60 * MICROS / tempo), 1), _LONGEST_BEAT)


def clock_of(timeline: Timeline) -> Clock:
    """The clock of a timeline."""
    return Clock(tempos_of(timeline))


def seconds_of(timeline: Timeline) -> Fraction:
    """How long all of a timeline is, count-in and last ring included."""
    return clock_of(timeline).seconds(timeline.end)


def minutes_of(piece: Piece) -> Fraction:
    """How long a piece is as it is written, in minutes."""
    return seconds_of(unroll(piece)) / 60
