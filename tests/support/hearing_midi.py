"""A receiver for tests: plays a file by the MIDI 1.0 rules and gives the time and pitch of notes.

It knows nothing of how the file was made: it keeps a bend, a bend range (RPN 0) and a scale/octave
tuning (MIDI Tuning Standard, CA-021: 08 09, channels 16–15, 14–8, 7–1, twelve 14-bit offsets with
40 00 as none and 100 cents either way) for each channel, and goes through the tracks as one stream.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field

import mido


@dataclass
class SoundingNote:
    """A note as it sounded. ``pitches`` are (tick, MIDI key with its fraction), one a change."""

    track: int
    channel: int
    key: int
    velocity: int
    program: int
    start: int
    end: int = -1
    pitches: list[tuple[int, float]] = field(default_factory=list)


@dataclass
class _Channel:
    bend: int = 0
    wide: float = 2.0
    program: int = 0
    parameter: tuple[int, int] = (127, 127)
    offsets: tuple[float, ...] = (0.0,) * 12
    sounding: dict[int, SoundingNote] = field(default_factory=dict)

    def pitch(self, key: int) -> float:
        return key + self.wide * self.bend / 8192 + self.offsets[key % 12] / 100


def stream_of(file: mido.MidiFile) -> list[tuple[int, int, mido.Message]]:
    """(tick, track, message) as a sequencer sends them: track after track on each tick."""
    every = []
    for number, track in enumerate(file.tracks):
        now = 0
        for message in track:
            now += message.time
            every.append((now, number, message))
    return sorted(every, key=lambda entry: entry[:2])


def tuning_of_message(data: tuple[int, ...]) -> tuple[list[int], tuple[float, ...]]:
    """The channels and the offsets in cents of a scale/octave message of two bytes."""
    assert data[0] == 0x7F and data[2:4] == (0x08, 0x09) and len(data) == 7 + 24
    assert all(byte < 128 for byte in data)
    bits = [data[6] >> bit & 1 for bit in range(7)]
    bits += [data[5] >> bit & 1 for bit in range(7)]
    bits += [data[4] >> bit & 1 for bit in range(2)]
    pairs = zip(data[7::2], data[8::2], strict=True)
    offsets = tuple((128 * high + low - 8192) * 100 / 8192 for high, low in pairs)
    return [channel for channel, bit in enumerate(bits) if bit], offsets


def sounding_notes(data: bytes) -> list[SoundingNote]:
    """Every pitched note of a file in order; a note struck while it sounds is an error."""
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    channels = [_Channel() for _ in range(16)]
    heard: list[SoundingNote] = []
    for tick, track, message in stream_of(file):
        if message.type == "sysex":
            numbers, offsets = tuning_of_message(message.data)
            for number in numbers:
                channels[number].offsets = offsets
                _record_pitch(channels[number], tick)
            continue
        if message.is_meta or message.channel == 9:
            continue
        this = channels[message.channel]
        if message.type == "program_change":
            this.program = message.program
        elif message.type == "pitchwheel":
            this.bend = message.pitch
            _record_pitch(this, tick)
        elif message.type == "control_change":
            _control(this, message.control, message.value)
        elif message.type == "note_on":
            assert message.note not in this.sounding, "struck while it sounds"
            note = SoundingNote(
                track, message.channel, message.note, message.velocity, this.program, tick
            )
            note.pitches.append((tick, this.pitch(message.note)))
            this.sounding[message.note] = note
            heard.append(note)
        elif message.type == "note_off":
            this.sounding.pop(message.note).end = tick
    assert not any(channel.sounding for channel in channels), "left hanging"
    return heard


def _record_pitch(channel: _Channel, tick: int) -> None:
    for note in channel.sounding.values():
        note.pitches.append((tick, channel.pitch(note.key)))


def _control(channel: _Channel, control: int, value: int) -> None:
    high, low = channel.parameter
    if control == 101:
        channel.parameter = (value, low)
    elif control == 100:
        channel.parameter = (high, value)
    elif control == 6 and channel.parameter == (0, 0):
        channel.wide = float(value)
    elif control == 38 and channel.parameter == (0, 0):
        channel.wide += value / 100
