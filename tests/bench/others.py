"""The tune as the objects of other libraries: made beforehand, as our score and sheet are."""

from __future__ import annotations

import warnings
from collections.abc import Iterable
from functools import cache
from typing import Any

import music21
import pretty_midi
import tune
from partitura.performance import PerformedPart
from partitura.score import Note as PartituraNote
from partitura.score import Part as PartituraPart
from partitura.score import TimeSignature, add_measures, tie_notes

from cyclechart.theory.spelling import Spelled, spell

DIVISIONS = 12
"""Ticks a beat that hold the tune's halves, thirds and quarters."""


@cache
def played(count: int) -> tuple[tuple[int, int, float, float], ...]:
    """(velocity, MIDI key, start, end) of each note, in float seconds."""
    score = tune.score_of(count)
    beat = 60 / score.tempos[0].tempo
    return tuple(
        (
            sound.velocity,
            score.tonic.midi + sound.pitch,
            float(sound.start * beat),
            float((sound.start + sound.length) * beat),
        )
        for sound in tune.sounds_of(count)
    )


def spelled(count: int, pitch: int) -> Spelled:
    """A pitch as a note name."""
    return spell(tune.score_of(count).tonic, pitch)


def pretty_midi_file(notes: Iterable[tuple[int, int, float, float]]) -> pretty_midi.PrettyMIDI:
    """Notes on one instrument."""
    made = pretty_midi.PrettyMIDI(initial_tempo=92)
    flute = pretty_midi.Instrument(program=73, name="melody")
    for velocity, key, start, end in notes:
        flute.notes.append(pretty_midi.Note(velocity, key, start, end))
    made.instruments.append(flute)
    return made


def music21_part(count: int, *, measured: bool) -> music21.stream.Part:
    """Notes with their sargam as lyric, one after another; ``measured``: under 10/4."""
    part = music21.stream.Part()
    if measured:
        part.append(music21.meter.TimeSignature("10/4"))
    for sound in tune.sounds_of(count):
        name = spelled(count, sound.pitch)
        sign = "#" * name.alter or "-" * -name.alter
        pitch = music21.pitch.Pitch(f"{name.step}{sign}{name.octave}")
        note = music21.note.Note(pitch, quarterLength=sound.length)
        note.lyric = sound.text
        part.append(note)
    return part


def partitura_performance(count: int) -> PerformedPart:
    """Notes in float seconds."""
    notes: list[dict[str, Any]] = [
        {"midi_pitch": key, "note_on": start, "note_off": end, "velocity": velocity}
        for velocity, key, start, end in played(count)
    ]
    return PerformedPart(notes, id="P1", part_name="melody")


def partitura_part(count: int) -> Any:
    """Notes without lyrics in measures of 10/4, already tied over the barlines."""
    part: Any = PartituraPart("P1", "melody", quarter_duration=DIVISIONS)
    part.add(TimeSignature(10, 4), 0)
    for number, sound in enumerate(tune.sounds_of(count)):
        name = spelled(count, sound.pitch)
        note = PartituraNote(
            step=name.step, octave=name.octave, alter=name.alter or None, id=f"n{number}", voice=1
        )
        start, end = sound.start * DIVISIONS, (sound.start + sound.length) * DIVISIONS
        part.add(note, int(start), int(end))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        add_measures(part)
        tie_notes(part)
    return part
