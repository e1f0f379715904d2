"""A score as a Standard MIDI File, type 1: every onset on its exact tick, the tuning by bend.

The conductor track has tempo, time signatures (a bar is a cycle) and markers; each part has a track
of its own. A just tone is its nearest key, bent; the bend of a moving tone goes on changing.
``channels`` plans the channel of each voice, and ``events`` the notes on it.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from fractions import Fraction
from operator import itemgetter
from typing import Any, TypeAlias

import mido

from cyclechart.arrange.clock import micros_of
from cyclechart.arrange.score import Part, Score
from cyclechart.write.midi.channels import DRUM_CHANNEL, ChannelPlan, plan_channels
from cyclechart.write.midi.events import ChannelNote, ChannelNotes, channel_notes
from cyclechart.write.midi.mix import (
    EXPRESSION,
    PLAIN_EXPRESSION,
    channel_mix,
    drum_mix,
    expression_moves,
)
from cyclechart.write.midi.pitch_bend import octave_offsets, octave_tuning
from cyclechart.write.midi.tick_grid import TickGrid, tick_grid

MAX_NUMERATOR = 255

# The order of the messages on one tick: the last bend of a moving tone, note ends, settings, texts,
# note beginnings.
_ARRIVE, _OFF, _SET, _TEXT, _ON = range(5)
_RANKS = 5

Message: TypeAlias = Any
"""A channel or meta message of the MIDI library, which has no type annotations."""
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
    plan = plan_channels(score, tuning_standard=tuning_standard)
    grid = tick_grid(score)
    notes = channel_notes(score, plan, grid, tuning_standard=tuning_standard)
    file = mido.MidiFile(type=1, ticks_per_beat=grid.ticks, charset="utf-8")
    writer = _FileWriter(score, plan, grid, notes, tuning_standard=tuning_standard)
    file.tracks.append(writer.conductor())
    for number, part in enumerate(score.parts):
        file.tracks.append(writer.part(number, part))
    stream = io.BytesIO()
    file.save(file=stream)
    return stream.getvalue(), plan.given_up


class _FileWriter:
    """Writes the tracks of a score. Each distinct message is built once."""

    def __init__(
        self,
        score: Score,
        plan: ChannelPlan,
        grid: TickGrid,
        notes: ChannelNotes,
        *,
        tuning_standard: bool,
    ) -> None:
        self.score = score
        self.plan = plan
        self.grid = grid
        self.notes = notes
        self.tuning_standard = tuning_standard
        self.messages: dict[tuple[MessageKey, int], Message] = {}
        self.set_up_channels: set[int] = set()
        self.mix = channel_mix(score.parts)
        self.parts_on: dict[int, set[int]] = {}
        """The parts on each channel."""
        for (number, _), channel in plan.channels.items():
            self.parts_on.setdefault(channel, set()).add(number)
        self.moved_expression: set[int] = set()
        """The channels on which a note left the expression elsewhere."""

    def conductor(self) -> mido.MidiTrack:
        """Return the track of tempo, time signatures and markers."""
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
            events.append(
                (self.grid.tick(marker.at) * _RANKS + _TEXT, ("marker", _plain_signs(marker.text)))
            )
        tuned = self.notes.tuned_channels
        if self.tuning_standard and tuned:
            offsets = octave_offsets(score.tonic.midi, score.tuning)
            events.append((_SET, ("sysex", octave_tuning(tuned, offsets))))
        return self.track(events)

    def part(self, number: int, part: Part) -> mido.MidiTrack:
        """Return the track of a part, of index ``number``."""
        events: list[Event] = [(_SET, ("track_name", part.name))]
        events += self.hits(part) if part.program is None else self.sounds(number, part)
        return self.track(events)

    def hits(self, part: Part) -> Iterator[Event]:
        """Yield the drum sounds, each ended by the next one on the same key."""
        if DRUM_CHANNEL not in self.set_up_channels:
            self.set_up_channels.add(DRUM_CHANNEL)
            for control, value in drum_mix(self.score.parts, self.mix).items():
                yield _SET, ("control_change", DRUM_CHANNEL, control, value)
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
        """Yield the pitched sounds, after the set-up of channels that no earlier part set up."""
        voices = {sound.voice for sound in part.sounds}
        own = {self.plan.channel_of(number, voice) for voice in voices} - self.set_up_channels
        self.set_up_channels |= own
        for channel in sorted(own):
            yield from self.set_up(channel, self.mix[number])
        for note in self.notes.of_part[number]:
            yield from self.note(note)

    def note(self, note: ChannelNote) -> Iterator[Event]:
        """Yield the messages of a note: its tuning, its text, its beginning, its bends, its end."""
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
            yield from self.expression(note)
            yield note.end * _RANKS + _OFF, ("note_off", channel, note.key, 0)

    def expression(self, note: ChannelNote) -> Iterator[Event]:
        """Yield the expression of a note that grows or fades, and that of the next one after it;
        where parts share a channel there is none."""
        channel = note.channel
        if channel in self.moved_expression:
            self.moved_expression.remove(channel)
            plain = "control_change", channel, EXPRESSION, PLAIN_EXPRESSION
            yield note.start * _RANKS + _SET, plain
        if note.swell and len(self.parts_on[channel]) == 1:
            for tick, value in expression_moves(
                note.velocity, note.swell, note.start, note.end, self.grid.ticks
            ):
                self.moved_expression.add(channel)
                yield tick * _RANKS + _SET, ("control_change", channel, EXPRESSION, value)

    def set_up(self, channel: int, mix: Mapping[int, int]) -> Iterator[Event]:
        """Yield the program, the mix, and the bend range by RPN 0, closed by the null parameter."""
        yield _SET, ("program_change", channel, self.plan.programs[channel])
        bend_range = (
            (101, 0), (100, 0), (6, self.notes.ranges[channel]), (38, 0), (101, 127), (100, 127),
        )  # fmt: skip
        for control, value in (*mix.items(), *bend_range):
            yield _SET, ("control_change", channel, control, value)

    def track(self, events: list[Event]) -> mido.MidiTrack:
        """Return a track of the events in order of tick and rank; it ends with the score."""
        events.sort(key=itemgetter(0))
        track = mido.MidiTrack()
        now = 0
        for order, key in events:
            tick = order // _RANKS
            track.append(self.message(key, tick - now))
            now = tick
        track.append(
            mido.MetaMessage("end_of_track", time=max(0, self.grid.tick(self.score.end) - now))
        )
        return track

    def message(self, key: MessageKey, time: int) -> Message:
        """Return a message; equal messages are one object, which the tracks only read."""
        cache_key = (key, time)
        message = self.messages.get(cache_key)
        if message is None:
            kind = str(key[0])
            fields = dict(zip(_FIELDS[kind], key[1:], strict=True))
            if kind in _META:
                message = mido.MetaMessage(kind, time=time, **fields)
            else:
                # All values are in range: to check them takes a third of the time of a file.
                message = mido.Message(kind, skip_checks=True, time=time, **fields)
            self.messages[cache_key] = message
        return message


def _plain_signs(text: str) -> str:
    """Return a marker with the sign of sam as a letter: some readers take texts as Latin-1."""
    return text.replace("×", "x")


def time_signature(beats: Fraction) -> tuple[int, int] | None:
    """Return a bar of so many quarter notes as numerator and denominator, or None if it has none.

    Standard MIDI Files have one byte for the numerator, so that 255 is the largest.
    """
    for denominator in (4, 8, 16, 32, 64):
        numerator = beats * denominator / 4
        if numerator.denominator == 1:
            return (int(numerator), denominator) if numerator <= MAX_NUMERATOR else None
    return None
