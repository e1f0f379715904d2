"""The melody player: the lines as composed, one voice; a new entry cuts off what rang before."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable
from fractions import Fraction

from cyclechart.arrange.score import Part, Sound
from cyclechart.arrange.timeline import Placed, Timeline
from cyclechart.piece.model import MELODY, Note
from cyclechart.theory.tones import show_pitch

FLUTE = 73
"""General MIDI program (from 0) of the melody where the piece names no player."""

LOUDNESS = {"pp": 40, "p": 54, "mp": 68, "mf": 82, "f": 98, "ff": 114}
PLAIN = 86
ACCENT = 16


def melody(timeline: Timeline) -> Part:
    """Everything the melody player sounds."""
    sounds: list[Sound] = []
    starts: list[Fraction] = []
    for placed in timeline.placed:
        if placed.line.kind != "melody" or not placed.line.notes:
            continue
        new = list(_sounds(placed))
        if new:
            _give_way(sounds, starts, new[0].start)
            sounds += new
            starts += [sound.start for sound in new]
    return Part(MELODY, "melody", FLUTE, tuple(sounds))


def _give_way(sounds: list[Sound], starts: list[Fraction], entry: Fraction) -> None:
    """Drop what would begin at or after a new entry, and cut what rings into it."""
    kept = bisect_left(starts, entry)
    del sounds[kept:], starts[kept:]
    if sounds and sounds[-1].start + sounds[-1].length > entry:
        last = sounds[-1]
        sounds[-1] = Sound(last.start, entry - last.start, last.pitch, last.velocity, last.text)


def _sounds(placed: Placed) -> Iterable[Sound]:
    level = PLAIN
    for note in placed.line.notes:
        start = placed.at(note)
        if placed.until is not None and start >= placed.until:
            return
        length = placed.lasts(note)
        if placed.until is not None:
            length = min(length, placed.until - start)
        level = next((LOUDNESS[mark] for mark in note.marks if mark in LOUDNESS), level)
        assert note.pitch is not None
        yield Sound(
            start,
            _sounding(note, length),
            note.pitch,
            loudness(note, level),
            show_pitch(note.pitch),
        )


def loudness(note: Note, level: int) -> int:
    """Velocity of a note at a dynamic level."""
    return min(127, level + ACCENT) if "accent" in note.marks else level


def _sounding(note: Note, length: Fraction) -> Fraction:
    return length / 2 if "staccato" in note.marks else length
