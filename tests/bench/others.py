"""The tune as the objects of other libraries: made beforehand, as our score and sheet are."""

from __future__ import annotations

import warnings
from fractions import Fraction
from typing import Any

import music21
import pretty_midi
import tune
from partitura.performance import PerformedPart
from partitura.score import Note as PartituraNote
from partitura.score import Part, TimeSignature, add_measures, tie_notes

from cyclechart.theory.spelling import Spelled, spell

VELOCITY = 86
DIVISIONS = 12
"""Ticks a beat that hold the tune's halves, thirds and quarters."""


def seconds_of(beats: Fraction, tempo: Fraction) -> float:
    """A time in beats as seconds at one tempo."""
    return float(beats * 60 / tempo)


def key_of(count: int, pitch: int) -> int:
    """The MIDI key of a pitch above middle Sa."""
    return tune.score_of(count).tonic.midi + pitch


def spelled(count: int, pitch: int) -> Spelled:
    """A pitch as a note name."""
    return spell(tune.score_of(count).tonic, pitch)


def pretty_midi_notes(count: int) -> pretty_midi.PrettyMIDI:
    """Notes in float seconds, on one instrument."""
    tempo = tune.score_of(count).tempos[0].tempo
    made = pretty_midi.PrettyMIDI(initial_tempo=float(tempo))
    flute = pretty_midi.Instrument(program=73, name="melody")
    for sound in tune.sounds_of(count):
        start, end = (seconds_of(at, tempo) for at in (sound.start, sound.start + sound.length))
        note = pretty_midi.Note(sound.velocity, key_of(count, sound.pitch), start, end)
        flute.notes.append(note)
    made.instruments.append(flute)
    return made


def music21_part(count: int, *, measured: bool) -> music21.stream.Part:
    """Notes with their sargam as lyric, one after another; ``measured``: under 10/4."""
    part = music21.stream.Part()
    if measured:
        part.append(music21.meter.TimeSignature("10/4"))
    for sound in tune.sounds_of(count):
        name = spelled(count, sound.pitch)
        pitch = music21.pitch.Pitch(step=name.step, octave=name.octave)
        pitch.accidental = music21.pitch.Accidental(name.alter) if name.alter else None
        note = music21.note.Note(pitch, quarterLength=sound.length)
        note.lyric = sound.text
        part.append(note)
    return part


def partitura_performance(count: int) -> PerformedPart:
    """Notes in float seconds."""
    tempo = tune.score_of(count).tempos[0].tempo
    notes: list[dict[str, Any]] = []
    for number, sound in enumerate(tune.sounds_of(count)):
        start, end = (seconds_of(at, tempo) for at in (sound.start, sound.start + sound.length))
        notes.append(
            {
                "id": f"n{number}",
                "midi_pitch": key_of(count, sound.pitch),
                "note_on": start,
                "note_off": end,
                "velocity": sound.velocity,
            }
        )
    return PerformedPart(notes, id="P1", part_name="melody")


def partitura_part(count: int) -> Part:
    """Notes without lyrics in measures of 10/4, already tied over the barlines."""
    part = Part("P1", "melody", quarter_duration=DIVISIONS)
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
