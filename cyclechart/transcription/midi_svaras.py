"""Voices of a MIDI file whose notes are named by svaras in its lyrics, as our own are.

A note with ornaments is many sounds, of which the first alone has its name; a glide is one sound
that moves through several names ("R~G"). So the names say which notes there are.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from typing import NamedTuple

from cyclechart.text.scripts import SARGAM_SCRIPT
from cyclechart.transcription.midi_events import MidiVoice

FEWEST = 3
SAME = 0.0001
"""Semitones within which two places of the wheel are one."""
NEAR = 0.6


class NamedNote(NamedTuple):
    """A note by its name: its ticks, its MIDI key, and whether it glides into the next."""

    start: int
    end: int
    key: int
    glides: bool


class NamedVoice(NamedTuple):
    """A voice by its names, and the pitch class of Sa."""

    notes: tuple[NamedNote, ...]
    sa: int


def named_voice(voice: MidiVoice) -> NamedVoice | None:
    """Return a voice by the svaras in its lyrics; None where these are something else."""
    names = [(tick, pitches) for tick, text in voice.texts if (pitches := _pitches(text))]
    onsets: dict[int, list[float]] = {}
    for note in voice.notes:
        onsets.setdefault(note.start, []).append(note.key + note.bend)
    if len(names) < max(FEWEST, len(voice.texts)) or not onsets.keys() >= dict(names).keys():
        return None
    bases = Counter(round(onsets[tick][0]) - pitches[0] for tick, pitches in names)
    base, agreeing = bases.most_common(1)[0]
    if agreeing * 2 < len(names):
        return None
    tuned = _tuned(voice, names, base)
    starts = [tick for tick, _ in names]
    notes: list[NamedNote] = []
    for at, (tick, pitches) in enumerate(names):
        after = starts[at + 1] if at + 1 < len(starts) else None
        end = _end(voice, tick, after)
        arrivals = _arrivals(voice, tick, end, pitches, base, tuned)
        edges = [tick, *arrivals, end]
        for number, pitch in enumerate(pitches[: len(edges) - 1]):
            glides = number + 1 < len(edges) - 1
            notes.append(NamedNote(edges[number], edges[number + 1], base + pitch, glides))
    return NamedVoice(tuple(notes), base % 12)


def _pitches(text: str) -> list[int]:
    """Return the semitones of a name, or of the names of a glide; [] where it is none."""
    found = []
    for one in text.split("~"):
        value = SARGAM_SCRIPT.read(one) if SARGAM_SCRIPT.tone.fullmatch(one) else None
        if not isinstance(value, int):
            return []
        found.append(value)
    return found


def _tuned(voice: MidiVoice, names: list[tuple[int, list[int]]], base: int) -> dict[int, float]:
    """Return how far each tone stands from its key where it is struck by itself."""
    heard: dict[int, Counter[float]] = {}
    first = {note.start: note for note in voice.notes}
    for tick, pitches in names:
        note = first[tick]
        off = note.key + note.bend - base - pitches[0]
        if abs(off) < NEAR:
            heard.setdefault(pitches[0] % 12, Counter())[round(off, 3)] += 1
    return {tone: counts.most_common(1)[0][0] for tone, counts in heard.items()}


def _end(voice: MidiVoice, tick: int, after: int | None) -> int:
    """Return where the sounds of a name end: the last one begun before the next name."""
    starts = [note.start for note in voice.notes]
    first = bisect_left(starts, tick)
    last = bisect_left(starts, after) if after is not None else len(starts)
    ends = [note.end for note in voice.notes[first:last]]
    end = max(ends, default=tick)
    return end if after is None else min(end, after)


def _arrivals(
    voice: MidiVoice,
    tick: int,
    end: int,
    pitches: list[int],
    base: int,
    tuned: dict[int, float],
) -> list[int]:
    """Return the ticks at which a glide reaches each tone after its first."""
    if len(pitches) == 1:
        return []
    sounds = [note for note in voice.notes if tick <= note.start < end]
    struck = sounds[-1]
    moves = [(at, struck.key + bend) for at, bend in voice.bends if struck.start < at <= struck.end]
    found: list[int] = []
    before = struck.start
    for pitch in pitches[1:]:
        goal = base + pitch + tuned.get(pitch % 12, 0.0)
        close = [(abs(sounding - goal), when) for when, sounding in moves if when > before]
        best = min((off for off, _ in close), default=0.0)
        at = next((when for off, when in close if off <= best + SAME), None)
        if at is None or at >= end:
            break
        found.append(at)
        before = at
    return found
