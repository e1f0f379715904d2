"""A score as a Standard MIDI File, type 1: every onset on its exact tick, the tuning by bend.

The conductor track holds tempo, time signatures (a bar is a cycle) and markers; each part has a
track of its own. A just tone is its nearest key bent, a moving one is bent on; ``channels`` plans
which voice is on which channel, and ``events`` which notes are there.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from fractions import Fraction
from operator import itemgetter
from typing import Any, TypeAlias

import mido

from cyclechart.arrange.clock import micros_of
from cyclechart.arrange.score import Part, Score
from cyclechart.write.midi.channels import DRUM_CHANNEL, ChannelPlan, plan_channels
from cyclechart.write.midi.events import ChannelNote, ChannelNotes, channel_notes
from cyclechart.write.midi.pitch_bend import octave_offsets, octave_tuning
from cyclechart.write.midi.tick_grid import TickGrid, tick_grid

MAX_NUMERATOR = 255

# What stands on one tick is written in this order: where a moving tone arrives, what ends, then
# what sets up, then what begins.
_ARRIVE, _OFF, _SET, _TEXT, _ON = range(5)
_RANKS = 5

Message: TypeAlias = Any
"""A channel or meta message of the MIDI library, which has no types of its own."""
MessageKey: TypeAlias = tuple[Any, ...]
"""A message's kind, then its values in the order of ``_FIELDS``."""
Event: TypeAlias = tuple[int, MessageKey]
"""(tick · 5 + rank on that tick, the message)."""

_FIELDS: dict[str, tuple[str, ...]] = {
    "note_on": ("channel", "note", "velocity"),
    "note_off": ("channel", "note", "velocity"),
    "pitchwheel": ("channel", "pitch"),
    "control_change": ("channel", "control", "value"),
    "program_change": ("channel", "program"),
    "sysex": ("data",),
    "track_name": ("name",),
    "text": ("text",),
    "lyrics": ("text",),
    "marker": ("text",),
    "set_tempo": ("tempo",),
    "time_signature": ("numerator", "denominator"),
}
_META = {"track_name", "text", "lyrics", "marker", "set_tempo", "time_signature"}


def midi_with_report(
    score: Score, *, tuning_standard: bool = False
) -> tuple[bytes, tuple[str, ...]]:
    """Return the file's bytes, and a sentence for each part that lost something for want of
    channels. The same score gives the same bytes.

    With ``tuning_standard`` the tuned channels are retuned by the MIDI Tuning Standard and only
    what moves is bent: for receivers that know it (most do not).
    """
    planned = plan_channels(score, tuning_standard=tuning_standard)
    grid = tick_grid(score)
    notes = channel_notes(score, planned, grid, tuning_standard=tuning_standard)
    file = mido.MidiFile(type=1, ticks_per_beat=grid.ticks, charset="utf-8")
    writer = _FileWriter(score, planned, grid, notes, tuning_standard=tuning_standard)
    file.tracks.append(writer.conductor())
    for number, part in enumerate(score.parts):
        file.tracks.append(writer.part(number, part))
    stream = io.BytesIO()
    file.save(file=stream)
    return stream.getvalue(), planned.given_up


class _FileWriter:
    """The tracks of a score. Each distinct message is made once."""

    def __init__(
        self,
        score: Score,
        planned: ChannelPlan,
        grid: TickGrid,
        notes: ChannelNotes,
        *,
        tuning_standard: bool,
    ) -> None:
        self.score = score
        self.plan = planned
        self.grid = grid
        self.notes = notes
        self.tuning_standard = tuning_standard
        self.messages: dict[tuple[MessageKey, int], Message] = {}
        self.set_up_channels: set[int] = set()

    def conductor(self) -> mido.MidiTrack:
        score = self.score
        events: list[Event] = [(_SET, ("track_name", score.title))]
        if score.composer:
            events.append((_SET, ("text", score.composer)))
        for mark in score.tempos:
            order = self.grid.tick(mark.at) * _RANKS + _SET
            events.append((order, ("set_tempo", micros_of(mark.tempo))))
        for meter in score.meters:
            signature = time_signature(meter.beats)
            if signature is not None:
                order = self.grid.tick(meter.at) * _RANKS + _SET
                events.append((order, ("time_signature", *signature)))
        for marker in score.markers:
            events.append((self.grid.tick(marker.at) * _RANKS + _TEXT, ("marker", marker.text)))
        tuned = self.notes.tuned_channels
        if self.tuning_standard and tuned:
            offsets = octave_offsets(score.tonic.midi, score.tuning)
            events.append((_SET, ("sysex", octave_tuning(tuned, offsets))))
        return self.track(events)

    def part(self, number: int, part: Part) -> mido.MidiTrack:
        events: list[Event] = [(_SET, ("track_name", part.name))]
        events += self.hits(part) if part.program is None else self.sounds(number, part)
        return self.track(events)

    def hits(self, part: Part) -> Iterator[Event]:
        """Drum sounds, each let go by the next on the same key."""
        following: dict[int, int] = {}
        for hit in reversed(part.hits):
            start, end = self.grid.span(hit)
            end = max(start + 1, min(end, following.get(hit.key, end)))
            following[hit.key] = start
            if hit.text:
                yield start * _RANKS + _TEXT, ("lyrics", hit.text)
            yield start * _RANKS + _ON, ("note_on", DRUM_CHANNEL, hit.key, hit.velocity)
            yield end * _RANKS + _OFF, ("note_off", DRUM_CHANNEL, hit.key, 0)

    def sounds(self, number: int, part: Part) -> Iterator[Event]:
        """Pitched sounds, after the set-up of the channels that no part before has set up."""
        voices = {sound.voice for sound in part.sounds}
        own = {self.plan.channel_of(number, voice) for voice in voices} - self.set_up_channels
        self.set_up_channels |= own
        for channel in sorted(own):
            yield from self.set_up(channel)
        for note in self.notes.of_part[number]:
            yield from self.note(note)

    def note(self, note: ChannelNote) -> Iterator[Event]:
        """A sound's messages: tuned first, then its text, its stroke, how it moves, its end."""
        begin, channel = note.start * _RANKS, note.channel
        if note.retune is not None:
            offsets = octave_offsets(note.retune, self.score.tuning)
            yield begin + _SET, ("sysex", octave_tuning([channel], offsets))
        if note.bend is not None:
            yield begin + _SET, ("pitchwheel", channel, note.bend)
        if note.text:
            yield begin + _TEXT, ("lyrics", note.text)
        if note.end > note.start:
            yield begin + _ON, ("note_on", channel, note.key, note.velocity)
            for tick, bend in note.moves:
                yield tick * _RANKS + _ARRIVE, ("pitchwheel", channel, bend)
            yield note.end * _RANKS + _OFF, ("note_off", channel, note.key, 0)

    def set_up(self, channel: int) -> Iterator[Event]:
        """Program, and the bend range by RPN 0 (closed by the null parameter)."""
        yield _SET, ("program_change", channel, self.plan.programs[channel])
        for control, value in (
            (101, 0), (100, 0), (6, self.notes.ranges[channel]), (38, 0), (101, 127), (100, 127),
        ):  # fmt: skip
            yield _SET, ("control_change", channel, control, value)

    def track(self, events: list[Event]) -> mido.MidiTrack:
        """Events in order of tick and rank, as delta times; the track ends with the score."""
        events.sort(key=itemgetter(0))
        track = mido.MidiTrack()
        now = 0
        for order, what in events:
            tick = order // _RANKS
            track.append(self.message(what, tick - now))
            now = tick
        track.append(
            mido.MetaMessage("end_of_track", time=max(0, self.grid.tick(self.score.end) - now))
        )
        return track

    def message(self, what: MessageKey, time: int) -> Message:
        """Return a message; one object serves every place it stands in, as tracks only read it."""
        name = (what, time)
        message = self.messages.get(name)
        if message is None:
            kind = str(what[0])
            maker = mido.MetaMessage if kind in _META else mido.Message
            fields = dict(zip(_FIELDS[kind], what[1:], strict=True))
            message = self.messages[name] = maker(kind, time=time, **fields)
        return message


def time_signature(beats: Fraction) -> tuple[int, int] | None:
    """A bar of so many quarter-note beats as numerator and denominator, or None where 255 of the
    finest unit do not reach (Standard MIDI Files hold the numerator in one byte)."""
    for denominator in (4, 8, 16, 32, 64):
        numerator = beats * denominator / 4
        if numerator.denominator == 1:
            return (int(numerator), denominator) if numerator <= MAX_NUMERATOR else None
    return None
