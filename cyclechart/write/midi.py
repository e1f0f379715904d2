"""A score as a Standard MIDI File, type 1: every onset on its exact tick, the tuning by bend.

The conductor track holds tempo, time signatures (a bar is a cycle) and markers; each part has a
track of its own. A just tone is its nearest key bent; each bent part has channels of its own, so
that no bend touches what another sounds.
"""

from __future__ import annotations

import io
import itertools
from collections.abc import Iterator
from fractions import Fraction
from operator import itemgetter
from typing import Any, TypeAlias

import mido

from cyclechart.arrange.score import Hit, Part, Score, Sound
from cyclechart.theory.ticks import grid_for, to_tick

BEND_RANGE = 2
"""Semitones either way, stated by RPN 0 before the first note."""

DRUM_CHANNEL = 9
PITCHED_CHANNELS = tuple(channel for channel in range(16) if channel != DRUM_CHANNEL)
MAX_NUMERATOR = 255

# What stands on one tick is written in this order: what ends, then what sets up, then what begins.
_OFF, _SET, _TEXT, _ON = range(4)
_RANKS = 4

Message: TypeAlias = Any
"""A channel or meta message of the MIDI library, which has no types of its own."""
What: TypeAlias = tuple[str | int, ...]
"""A message's kind, then its values in the order of ``_FIELDS``."""
Event: TypeAlias = tuple[int, What]
"""(tick · 4 + rank on that tick, the message)."""

_FIELDS: dict[str, tuple[str, ...]] = {
    "note_on": ("channel", "note", "velocity"),
    "note_off": ("channel", "note", "velocity"),
    "pitchwheel": ("channel", "pitch"),
    "control_change": ("channel", "control", "value"),
    "program_change": ("channel", "program"),
    "track_name": ("name",),
    "text": ("text",),
    "lyrics": ("text",),
    "marker": ("text",),
    "set_tempo": ("tempo",),
    "time_signature": ("numerator", "denominator"),
}
_CHANNEL_KINDS = {"note_on", "note_off", "pitchwheel", "control_change", "program_change"}


def midi_bytes(score: Score) -> bytes:
    """The file's bytes; the same score gives the same bytes."""
    ticks, lost = grid_for(_denominators(score))
    file = mido.MidiFile(type=1, ticks_per_beat=ticks, charset="utf-8")
    writer = _Writer(score, ticks, exact=not lost)
    file.tracks.append(writer.conductor())
    channels = iter(PITCHED_CHANNELS)
    for part in score.parts:
        file.tracks.append(writer.part(part, channels))
    stream = io.BytesIO()
    file.save(file=stream)
    return stream.getvalue()


def _denominators(score: Score) -> set[int]:
    """The denominators of every time in the score (a grid for start and length holds the end)."""
    found = {1, score.end.denominator}
    for marks in (score.tempos, score.meters, score.markers):
        found.update(mark.at.denominator for mark in marks)
    for part in score.parts:
        for event in itertools.chain[Sound | Hit](part.sounds, part.hits):
            found.add(event.start.denominator)
            found.add(event.length.denominator)
    return found


class _Writer:
    """Turns parts into tracks on one tick grid. Messages are made once for each distinct one."""

    def __init__(self, score: Score, ticks: int, *, exact: bool) -> None:
        self.score = score
        self.ticks = ticks
        self.exact = exact
        self.end = self.tick(score.end)
        self.made: dict[tuple[What, int], Message] = {}

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
            micros = min(max(round(60_000_000 / mark.tempo), 1), 0xFFFFFF)
            events.append((self.tick(mark.at) * _RANKS + _SET, ("set_tempo", micros)))
        for meter in score.meters:
            signature = time_signature(meter.beats)
            if signature is not None:
                order = self.tick(meter.at) * _RANKS + _SET
                events.append((order, ("time_signature", *signature)))
        for marker in score.markers:
            events.append((self.tick(marker.at) * _RANKS + _TEXT, ("marker", marker.text)))
        return self.track(events)

    def part(self, part: Part, channels: Iterator[int]) -> mido.MidiTrack:
        events: list[Event] = [(_SET, ("track_name", part.name))]
        events += self.hits(part) if part.program is None else self.sounds(part, channels)
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

    def sounds(self, part: Part, channels: Iterator[int]) -> Iterator[Event]:
        """Pitched sounds; what sounds at once with different bends is on different channels."""
        plan = self.plan(part, channels)
        bent = dict.fromkeys(plan.values(), 0)
        for channel in sorted(bent):
            yield from self.set_up(part, channel)
        base = self.score.tonic.midi
        bends = [self.bend(tone) for tone in range(12)]
        for sound in part.sounds:
            channel = plan[sound.voice]
            start, end = self.span(sound)
            key = base + sound.pitch
            bend = bends[sound.pitch % 12]
            if bent[channel] != bend:
                bent[channel] = bend
                yield start * _RANKS + _SET, ("pitchwheel", channel, bend)
            if sound.text:
                yield start * _RANKS + _TEXT, ("lyrics", sound.text)
            yield start * _RANKS + _ON, ("note_on", channel, key, sound.velocity)
            yield max(end, start + 1) * _RANKS + _OFF, ("note_off", channel, key, 0)

    def plan(self, part: Part, channels: Iterator[int]) -> dict[int, int]:
        """A channel for each voice; voices that only ever sound the same tone share one."""
        tones: dict[int, set[int]] = {}
        for sound in part.sounds:
            tones.setdefault(sound.voice, set()).add(sound.pitch % 12)
        shared: dict[int, int] = {}
        plan = {}
        for voice in sorted(tones):
            only = next(iter(tones[voice])) if len(tones[voice]) == 1 else None
            if only is not None and only in shared:
                plan[voice] = shared[only]
                continue
            plan[voice] = next(channels)
            if only is not None:
                shared[only] = plan[voice]
        return plan

    def set_up(self, part: Part, channel: int) -> Iterator[Event]:
        """Program, and the bend range by RPN 0 (closed by the null parameter)."""
        yield _SET, ("program_change", channel, part.program or 0)
        for control, value in (
            (101, 0), (100, 0), (6, BEND_RANGE), (38, 0), (101, 127), (100, 127),
        ):  # fmt: skip
            yield _SET, ("control_change", channel, control, value)

    def bend(self, pitch: int) -> int:
        """The 14-bit bend (centre 0) that brings an equal key to the piece's tuning."""
        steps = round(8192 * self.score.tuning.bend(pitch) / (100 * BEND_RANGE))
        return min(max(steps, -8192), 8191)

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
            maker = mido.Message if kind in _CHANNEL_KINDS else mido.MetaMessage
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
