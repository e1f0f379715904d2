"""How long a piece lasts: its timeline in seconds, as the MIDI file plays it."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from fractions import Fraction
from itertools import accumulate

from cyclechart.arrange.arranger import STEP
from cyclechart.arrange.timeline import Stretch, Timeline, unroll
from cyclechart.piece.model import Piece

MICROS = 1_000_000
"""A MIDI file says in whole microseconds how long a beat is: so many are in a second."""
_LONGEST_BEAT = 0xFFFFFF


class Clock:
    """Seconds at any time (beats) of a timeline. Gradual changes of tempo go in the arranger's own
    steps, and a beat is whole microseconds, so that it agrees with the MIDI file to the last one
    and sums stay short."""

    def __init__(self, timeline: Timeline) -> None:
        self._stretches = [one for one in timeline.stretches if one.end > one.start]
        self._starts = [one.start for one in self._stretches]
        lengths = (_micros_in(one, one.end) for one in self._stretches)
        self._micros = list(accumulate(lengths, initial=Fraction(0)))

    def seconds(self, time: Fraction) -> Fraction:
        """From the beginning to a time; 0 of a timeline without any."""
        number = bisect_right(self._starts, time) - 1
        if number < 0:
            return Fraction(0)
        return (self._micros[number] + _micros_in(self._stretches[number], time)) / MICROS


def _micros_in(stretch: Stretch, upto: Fraction) -> Fraction:
    """Microseconds from a stretch's start to a time in it."""
    begin = stretch.start if stretch.since is None else max(stretch.since, stretch.start)
    if stretch.to_tempo is None or upto <= begin:
        return (upto - stretch.start) * micros_of(stretch.tempo)
    steady = (begin - stretch.start) * micros_of(stretch.tempo)
    whole = (upto - begin) // STEP
    by = (stretch.to_tempo - stretch.tempo) * STEP / (stretch.end - begin)
    changing = STEP * sum(_micros_of_each(stretch.tempo + by / 2, by, whole))
    at = begin + whole * STEP
    if at < upto:
        middle = (at + min(at + STEP, stretch.end)) / 2
        changing += (upto - at) * micros_of(stretch.tempo_at(middle))
    return steady + changing


def _micros_of_each(first: Fraction, by: Fraction, count: int) -> Iterator[int]:
    """``micros_of`` of so many tempos, each by as much more than the one before. In whole numbers:
    a long change has a hundred thousand of them."""
    below = first.denominator * by.denominator
    tempo, more = int(first * below), int(by * below)
    for _ in range(count):
        micros, rest = divmod(60 * MICROS * below, tempo)
        micros += 2 * rest > tempo or (2 * rest == tempo and micros % 2)
        yield min(max(micros, 1), _LONGEST_BEAT)
        tempo += more


def micros_of(tempo: Fraction) -> int:
    """Microseconds of a beat as a MIDI file has them: 24 bits."""
    return min(max(round(60 * MICROS / tempo), 1), _LONGEST_BEAT)


def seconds_of(timeline: Timeline) -> Fraction:
    """How long all of it is, count-in and last ring included."""
    return Clock(timeline).seconds(timeline.end)


def minutes_of(piece: Piece) -> Fraction:
    """How long a piece is as it is written, in minutes."""
    return seconds_of(unroll(piece)) / 60
