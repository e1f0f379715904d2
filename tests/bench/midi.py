"""Writing MIDI: ours against bare mido, pretty_midi, music21 and partitura."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable
from fractions import Fraction
from typing import Any

import mido
import music21
import others
import partitura
import tune
from table import Subject, Target, by_contender, growth_of, ratio
from timing import Contender, medians, verify

from cyclechart.write.midi.file import midi_with_report

OURS, SAME, NOTES = "cyclechart", "same, bare", "notes alone"
TICKS = 480

ABOUT = f"""
{OURS}: the MIDI file of a score made beforehand (bends, syllables, markers, tempo, meters).
{SAME}: mido, fresh messages by keyword for exactly what our file holds, saved; bytes are equal.
{NOTES}: mido, fresh note_on and note_off messages on one track, saved.
pretty_midi: Notes and an Instrument made, written; no bends, no syllables.
music21: a stream of notes with lyrics made beforehand, streamToMidiFile, writestr.
partitura: a PerformedPart made beforehand, save_performance_midi; no bends, no syllables.
All write to memory.
"""

_Plan = list[list[tuple[Callable[..., Any], str, dict[str, Any]]]]
"""For each track: the maker of a message, its type, and its fields."""


def plan_of(data: bytes) -> tuple[_Plan, int]:
    """Return the contents of a file, ready to be built again, and its ticks a beat."""
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    plan: _Plan = []
    for track in file.tracks:
        plan.append([])
        for message in track:
            fields = message.dict()
            kind = fields.pop("type")
            plan[-1].append((type(message), kind, fields))
    return plan, file.ticks_per_beat


def same_bare(plan: _Plan, ticks: int) -> bytes:
    """Return a copy of a plan with new messages."""
    file = mido.MidiFile(type=1, ticks_per_beat=ticks, charset="utf-8")
    for messages in plan:
        track = mido.MidiTrack()
        for make, kind, fields in messages:
            track.append(make(kind, **fields))
        file.tracks.append(track)
    return _saved(file)


def note_events(count: int) -> list[tuple[str, int, int, int]]:
    """(type, key, velocity, delta in ticks) of the tune's notes alone."""
    events: list[tuple[Fraction, str, int, int]] = []
    base = tune.score_of(count).tonic.midi
    for sound in tune.sounds_of(count):
        key = base + sound.pitch
        events.append((sound.start, "note_on", key, sound.velocity))
        events.append((sound.start + sound.length, "note_off", key, 0))
    events.sort(key=lambda event: (event[0], event[1] == "note_on"))
    made, now = [], 0
    for at, kind, key, velocity in events:
        made.append((kind, key, velocity, int(at * TICKS) - now))
        now = int(at * TICKS)
    return made


def notes_alone(events: Iterable[tuple[str, int, int, int]]) -> bytes:
    """The least a file with these notes can be."""
    file = mido.MidiFile(ticks_per_beat=TICKS)
    track = mido.MidiTrack()
    for kind, key, velocity, delta in events:
        track.append(mido.Message(kind, note=key, velocity=velocity, time=delta))
    file.tracks.append(track)
    return _saved(file)


def _saved(file: mido.MidiFile) -> bytes:
    stream = io.BytesIO()
    file.save(file=stream)
    return stream.getvalue()


def contenders(count: int, quick: bool) -> list[Contender]:
    """Everybody that writes ``count`` notes; ``quick`` leaves music21 out of the longest rows."""
    score = tune.score_of(count)
    data = midi_with_report(score)[0]
    plan, ticks = plan_of(data)
    assert same_bare(plan, ticks) == data
    events = note_events(count)
    notes = others.played(count)
    performed = others.partitura_performance(count)
    made = [
        Contender(OURS, lambda: midi_with_report(score)[0]),
        Contender(SAME, lambda: same_bare(plan, ticks)),
        Contender(NOTES, lambda: notes_alone(events)),
        Contender("pretty_midi", lambda: _pretty_midi(notes)),
        Contender("partitura", lambda: _partitura(performed)),
    ]
    if not (quick and count == tune.SIZES[-1]):
        part = others.music21_part(count, measured=False)
        made.append(Contender("music21", lambda: _music21(part), slow=True))
    return made


def _pretty_midi(notes: tuple[tuple[int, int, float, float], ...]) -> bytes:
    stream = io.BytesIO()
    others.pretty_midi_file(notes).write(stream)
    return stream.getvalue()


def _partitura(performed: Any) -> bytes:
    stream = io.BytesIO()
    partitura.save_performance_midi(performed, stream)
    return stream.getvalue()


def _music21(part: Any) -> bytes:
    written: bytes = music21.midi.translate.streamToMidiFile(part).writestr()
    return written


def notes_in(data: bytes) -> int:
    """Return the number of notes that a file strikes."""
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    return sum(m.type == "note_on" and m.velocity > 0 for track in file.tracks for m in track)


def subject(quick: bool) -> Subject:
    """The whole table."""
    verify(contenders(tune.SIZES[0], quick), notes_in, tune.SIZES[0])
    seconds = {count: medians(contenders(count, quick), count) for count in tune.SIZES}
    head, rows = by_contender(seconds, (SAME, NOTES), OURS)
    targets = (
        Target("3,000 notes, ours / same, bare", ratio(seconds, 3_000, OURS, SAME), 2.5),
        Target("3,000 notes, ours / notes alone", ratio(seconds, 3_000, OURS, NOTES), 2.5),
        Target("3,000 notes, music21 / ours", ratio(seconds, 3_000, "music21", OURS), 15, True),
        Target("growth of ours", growth_of(seconds, OURS), 1.1),
    )
    return Subject("MIDI", ABOUT, head, rows, targets)
