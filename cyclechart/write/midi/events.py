"""The notes on each channel: keys, bends and ticks. A note ends where one begins that it cannot
sound with."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from cyclechart.arrange.score import Score, Sound
from cyclechart.write.midi.channels import ChannelPlan
from cyclechart.write.midi.pitch_bend import (
    FINEST_CENTS,
    NARROW,
    NARROW_CENTS,
    USUAL_RANGE,
    bend_range,
    bend_steps,
    gradual_bends,
    octave_offsets,
    offset_cents,
)
from cyclechart.write.midi.tick_grid import TickGrid


@dataclass(slots=True)
class ChannelNote:
    """A sound on its channel, in ticks. One that ends where it begins is not struck at all.

    ``tuned``: the setting that its channel needs (bend, key of Sa), or None where its pitch moves;
    ``bend``: the bend to set before it, or None where it is in force already; ``retune``: the key
    of Sa to retune the channel to, or None; ``moves``: the bends (tick, value) while it sounds;
    ``swell``: the velocity it gains.
    """

    part: int
    start: int
    end: int
    channel: int
    key: int
    velocity: int
    text: str
    tuned: tuple[int, int] | None
    bend: int | None = None
    retune: int | None = None
    moves: list[tuple[int, int]] | tuple[()] = ()
    swell: int = 0

    def is_like(self, other: ChannelNote) -> bool:
        """Return True if both have one key and one pitch that does not move."""
        return self.key == other.key and self.tuned is not None and self.tuned == other.tuned

    def cut(self, tick: int) -> None:
        """End the note at a tick.

        Cut short by one tick only, its pitch still reaches its last bend.
        """
        if self.moves:
            last = self.end if tick == self.end - 1 else tick
            self.moves = [(min(at, tick), bend) for at, bend in self.moves if at <= last]
        self.end = tick


@dataclass(frozen=True)
class ChannelNotes:
    """The pitched sounds of a score on their channels.

    ``of_part``: the notes of each part, in the order of its sounds; ``ranges``: the bend range of
    each channel in semitones; ``tuned_channels``: those that are not in equal temperament.
    """

    of_part: Sequence[Sequence[ChannelNote]]
    ranges: Mapping[int, int]
    tuned_channels: frozenset[int]


def channel_notes(
    score: Score, plan: ChannelPlan, grid: TickGrid, *, tuning_standard: bool = False
) -> ChannelNotes:
    """Return the pitched sounds of a score on the channels of its plan.

    With ``tuning_standard`` channels are retuned, and bent only where a tone moves.
    """
    semitones = _semitones(score, tuning_standard=tuning_standard)
    tuned = frozenset(channel for (part, _), channel in plan.channels.items() if part in plan.tuned)
    bends = _Bends(semitones, _ranges(score, plan, semitones, tuned), tuning_standard)
    numbers = range(len(score.parts))
    parts = [_PartNotes(score, plan, grid, bends, number=number).notes() for number in numbers]
    by_channel: dict[int, list[ChannelNote]] = {}
    for notes in parts:
        for note in notes:
            by_channel.setdefault(note.channel, []).append(note)
    for notes in by_channel.values():
        # Sorting keeps what begins at once in the order of the parts.
        notes.sort(key=lambda note: note.start)
        _cut_clashes(notes)
        _drop_settings(notes, score.tonic.midi)
    return ChannelNotes(parts, bends.ranges, tuned)


def _semitones(score: Score, *, tuning_standard: bool) -> list[float]:
    """Return the bend of each tone in semitones: with the tuning standard what that leaves over."""
    semitones = [score.tuning.bend(tone) / 100 for tone in range(12)]
    if tuning_standard:
        tonic = score.tonic.midi
        offsets = octave_offsets(tonic, score.tuning)
        for tone in range(12):
            semitones[tone] -= offset_cents(offsets[(tonic + tone) % 12]) / 100
    return semitones


def _ranges(
    score: Score, plan: ChannelPlan, semitones: Sequence[float], tuned: frozenset[int]
) -> dict[int, int]:
    """Return the bend range of each channel in semitones: that of its widest bend."""
    usual = bend_range(min(semitones), max(semitones))
    ranges = {channel: usual if channel in tuned else USUAL_RANGE for channel in plan.programs}
    for number in plan.tuned:
        for sound in score.parts[number].sounds:
            if sound.curve:
                own = semitones[sound.pitch % 12]
                values = [own, *(own + by for _, by in sound.curve)]
                channel = plan.channel_of(number, sound.voice)
                ranges[channel] = max(ranges[channel], bend_range(min(values), max(values)))
    return ranges


@dataclass(frozen=True)
class _Bends:
    """The bend of each tone and the bend range of each channel, in semitones.

    ``retunes``: channels are retuned where Sa moves.
    """

    semitones: Sequence[float]
    ranges: Mapping[int, int]
    retunes: bool


class _PartNotes:
    """The notes of one part before any is cut."""

    def __init__(
        self, score: Score, plan: ChannelPlan, grid: TickGrid, bends: _Bends, *, number: int
    ) -> None:
        self.score = score
        self.grid = grid
        self.number = number
        self.is_tuned = number in plan.tuned
        self.retunes = bends.retunes and self.is_tuned
        self.semitones = bends.semitones
        self.ranges = bends.ranges
        self.channels = {
            voice: channel for (part, voice), channel in plan.channels.items() if part == number
        }
        self.steps = {
            channel: [bend_steps(by, self.ranges[channel]) for by in self.semitones]
            for channel in set(self.channels.values())
        }
        self.tempo_starts = [mark.at for mark in score.tempos]

    def notes(self) -> list[ChannelNote]:
        return [self.note(sound) for sound in self.score.parts[self.number].sounds]

    def note(self, sound: Sound) -> ChannelNote:
        channel = self.channels[sound.voice]
        base = self.score.tonic.midi if sound.base is None else sound.base
        start, end = self.grid.span(sound)
        bend = self.steps[channel][sound.pitch % 12] if self.is_tuned else 0
        note = ChannelNote(
            part=self.number,
            start=start,
            end=max(end, start + 1),
            channel=channel,
            key=base + sound.pitch,
            velocity=sound.velocity,
            text=sound.text,
            tuned=(bend, base if self.retunes else 0),
            bend=bend,
            retune=base if self.retunes else None,
            swell=sound.swell,
        )
        if self.is_tuned and sound.curve:
            self.add_moves(note, sound)
        return note

    def add_moves(self, note: ChannelNote, sound: Sound) -> None:
        """Give a note the bends of its curve."""
        semitone_range = self.ranges[note.channel]
        mark = max(0, bisect_right(self.tempo_starts, sound.start) - 1)
        tempo = self.score.tempos[mark].tempo if self.score.tempos else Fraction(120)
        points = self.points(note, sound)
        note.tuned = None
        note.bend = last = bend_steps(points[0][1], semitone_range)
        moves = []
        widest = max(abs(by) for _, by in sound.curve)
        finest = NARROW_CENTS if widest <= NARROW else FINEST_CENTS
        seconds_a_tick = 60 / float(tempo) / self.grid.ticks
        for tick, semitones in gradual_bends(points, seconds_a_tick, finest):
            bend = bend_steps(semitones, semitone_range)
            if bend != last:
                moves.append((tick, bend))
                last = bend
        note.moves = moves

    def points(self, note: ChannelNote, sound: Sound) -> list[tuple[int, float]]:
        """Return the points (tick, semitones) of a curve over the length of its note."""
        own = self.semitones[sound.pitch % 12]
        points: list[tuple[int, float]] = []
        for at, by in sound.curve:
            tick, value = self.grid.tick(sound.start + at), own + by
            if not points and tick > note.start:
                points.append((note.start, value))  # the first value holds until its point
            if tick > note.end:  # the sound was cut off on its way
                (before, low), along = points[-1], note.end - points[-1][0]
                points.append((note.end, low + (value - low) * along / (tick - before)))
                break
            if points and points[-1][0] == tick:
                points.pop()
            points.append((tick, value))
        return points


def _cut_clashes(notes: Sequence[ChannelNote]) -> None:
    """Cut each note of a channel, in order of time, at the next one that it cannot sound with."""
    ringing: dict[int, ChannelNote] = {}
    for note in notes:
        for key, before in list(ringing.items()):
            # Tracks are played in their order: a note that a later track ends on this very tick
            # would end after this one begins, so it has to end a tick before.
            latest = note.start - (before.part > note.part)
            if before.end > latest:
                if key != note.key and before.tuned == note.tuned is not None:
                    continue
                if before.start == note.start and before.is_like(note):
                    # One key struck twice at once is struck once, as loud and as long.
                    note.end = max(note.end, before.end)
                    note.velocity = max(note.velocity, before.velocity)
                before.cut(max(latest, before.start))
            del ringing[key]
        ringing[note.key] = note


def _drop_settings(notes: Sequence[ChannelNote], tonic: int) -> None:
    """Drop the bend and the tuning of each note of a channel where they are in force already.

    The notes are in order of time; ``tonic``: the key of Sa that the channel has at first.
    """
    bent, base = 0, tonic
    for note in notes:
        if note.bend == bent:
            note.bend = None
        elif note.bend is not None:
            bent = note.bend
        if note.retune == base:
            note.retune = None
        elif note.retune is not None:
            base = note.retune
        if note.moves:
            bent = note.moves[-1][1]
