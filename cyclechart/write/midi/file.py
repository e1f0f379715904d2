"""A score as a Standard MIDI File, type 1: every onset on its exact tick, the tuning by bend.

The conductor track holds tempo, time signatures (a bar is a cycle) and markers; each part has a
track of its own. A just tone is its nearest key bent, a moving one is bent on; which voice is on
which channel is planned in ``write.channels``, and what sounds there when in ``write.sounding``.
"""

from __future__ import annotations

import io
import itertools
from collections.abc import Iterator
from fractions import Fraction
from operator import itemgetter
from typing import Any, TypeAlias

import mido

from cyclechart.arrange.clock import micros_of
from cyclechart.arrange.score import Hit, Part, Score, Sound
from cyclechart.theory.ticks import grid_for, to_tick
from cyclechart.write.midi.channels import DRUM_CHANNEL, Plan, plan
from cyclechart.write.midi.events import Sounding, Struck
from cyclechart.write.midi.pitch_bend import octave_offsets, octave_tuning

MAX_NUMERATOR = 255

# What stands on one tick is written in this order: where a moving tone arrives, what ends, then
# what sets up, then what begins.
_ARRIVE, _OFF, _SET, _TEXT, _ON = range(5)
_RANKS = 5

Message: TypeAlias = Any
"""A channel or meta message of the MIDI library, which has no types of its own."""
What: TypeAlias = tuple[Any, ...]
"""A message's kind, then its values in the order of ``_FIELDS``."""
Event: TypeAlias = tuple[int, What]
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


def midi_bytes(score: Score, *, tuning_standard: bool = False) -> bytes:
    """The file's bytes; the same score gives the same bytes."""
    return midi_with_report(score, tuning_standard=tuning_standard)[0]


def midi_with_report(
    score: Score, *, tuning_standard: bool = False
) -> tuple[bytes, tuple[str, ...]]:
    """The file's bytes, and a sentence for each part that lost something to want of channels.

    With ``tuning_standard`` the tuned channels are retuned by the MIDI Tuning Standard and only
    what moves is bent: for receivers that know it (most do not).
    """
    planned = plan(score, tuning_standard=tuning_standard)
    ticks, exact = _grid(score)
    file = mido.MidiFile(type=1, ticks_per_beat=ticks, charset="utf-8")
    writer = _Writer(score, planned, ticks, exact=exact, tuning_standard=tuning_standard)
    file.tracks.append(writer.conductor())
    for number, part in enumerate(score.parts):
        file.tracks.append(writer.part(number, part))
    stream = io.BytesIO()
    file.save(file=stream)
    return stream.getvalue(), planned.given_up


def _grid(score: Score) -> tuple[int, bool]:
    """Ticks a beat, and whether every time of the score is exact on them.

    Where all do not fit, what is written comes before what ornaments and endings add: the marks,
    the hits and the sounds that carry a text. (A grid for start and length holds the end; points of
    a curve go to the nearest tick.)
    """
    written = {1, score.end.denominator}
    added: set[int] = set()
    for marks in (score.tempos, score.meters, score.markers):
        written.update(mark.at.denominator for mark in marks)
    for part in score.parts:
        for event in itertools.chain[Sound | Hit](part.sounds, part.hits):
            (written if event.text else added).add(event.start.denominator)
            added.add(event.length.denominator)
    ticks, lost = grid_for(written | added)
    if not lost:
        return ticks, True
    for denominator in sorted(added - written):
        if not grid_for(written | {denominator})[1]:
            written.add(denominator)
    return grid_for(written)[0], False


class _Writer:
    """Turns parts into tracks on one tick grid. Messages are made once for each distinct one."""

    def __init__(
        self, score: Score, planned: Plan, ticks: int, *, exact: bool, tuning_standard: bool
    ) -> None:
        self.score = score
        self.plan = planned
        self.ticks = ticks
        self.exact = exact
        self.tuning_standard = tuning_standard
        self.end = self.tick(score.end)
        self.made: dict[tuple[What, int], Message] = {}
        self.sounding = Sounding(score, planned, self.tick, self.span, ticks, tuning_standard)
        self.set_up_channels: set[int] = set()

    def tick(self, time: Fraction) -> int:
        whole, rest = divmod(self.ticks, time.denominator)
        return time.numerator * whole if not rest else to_tick(time, self.ticks)

    def span(self, event: Sound | Hit) -> tuple[int, int]:
        """The ticks an event begins and ends on. Exact ticks add up; rounded ones may not."""
        start = self.tick(event.start)
        if self.exact:
            return start, start + self.tick(event.length)
        return start, self.tick(event.start + event.length)

    def conductor(self) -> mido.MidiTrack:
        score = self.score
        events: list[Event] = [(_SET, ("track_name", score.title))]
        if score.composer:
            events.append((_SET, ("text", score.composer)))
        for mark in score.tempos:
            order = self.tick(mark.at) * _RANKS + _SET
            events.append((order, ("set_tempo", micros_of(mark.tempo))))
        for meter in score.meters:
            signature = time_signature(meter.beats)
            if signature is not None:
                order = self.tick(meter.at) * _RANKS + _SET
                events.append((order, ("time_signature", *signature)))
        for marker in score.markers:
            events.append((self.tick(marker.at) * _RANKS + _TEXT, ("marker", marker.text)))
        tuned = self.sounding.tuned_channels
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
            start, end = self.span(hit)
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
        for struck in self.sounding.of_part[number]:
            yield from self.strike(struck)

    def strike(self, struck: Struck) -> Iterator[Event]:
        """A sound's messages: tuned first, then its text, its stroke, how it moves, its end."""
        begin, channel = struck.start * _RANKS, struck.channel
        if struck.retune is not None:
            offsets = octave_offsets(struck.retune, self.score.tuning)
            yield begin + _SET, ("sysex", octave_tuning([channel], offsets))
        if struck.bend is not None:
            yield begin + _SET, ("pitchwheel", channel, struck.bend)
        if struck.text:
            yield begin + _TEXT, ("lyrics", struck.text)
        if struck.end > struck.start:
            yield begin + _ON, ("note_on", channel, struck.key, struck.velocity)
            for tick, bend in struck.moves:
                yield tick * _RANKS + _ARRIVE, ("pitchwheel", channel, bend)
            yield struck.end * _RANKS + _OFF, ("note_off", channel, struck.key, 0)

    def set_up(self, channel: int) -> Iterator[Event]:
        """Program, and the bend range by RPN 0 (closed by the null parameter)."""
        yield _SET, ("program_change", channel, self.plan.programs[channel])
        for control, value in (
            (101, 0), (100, 0), (6, self.sounding.ranges[channel]), (38, 0), (101, 127), (100, 127),
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
        track.append(mido.MetaMessage("end_of_track", time=max(0, self.end - now)))
        return track

    def message(self, what: What, time: int) -> Message:
        """One message object serves every place it stands in: a track only reads them."""
        name = (what, time)
        made = self.made.get(name)
        if made is None:
            kind = str(what[0])
            maker = mido.MetaMessage if kind in _META else mido.Message
            fields = dict(zip(_FIELDS[kind], what[1:], strict=True))
            made = self.made[name] = maker(kind, time=time, **fields)
        return made


def time_signature(beats: Fraction) -> tuple[int, int] | None:
    """A bar of so many quarter-note beats as numerator and denominator, or None where 255 of the
    finest unit do not reach (Standard MIDI Files hold the numerator in one byte)."""
    for denominator in (4, 8, 16, 32, 64):
        numerator = beats * denominator / 4
        if numerator.denominator == 1:
            return (int(numerator), denominator) if numerator <= MAX_NUMERATOR else None
    return None
