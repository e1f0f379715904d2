"""What is struck on each channel: keys, bends and ticks, with what rings cut by what begins."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias

from cyclechart.arrange.score import Score, Sound
from cyclechart.write.midi.channels import Plan
from cyclechart.write.midi.pitch_bend import (
    USUAL_RANGE,
    bend_range,
    bend_steps,
    moving,
    octave_offsets,
    offset_cents,
)


@dataclass(slots=True)
class Struck:
    """A sound on its channel, in ticks. One that ends where it begins is not struck at all.

    ``tuned`` is what its channel has to be set to for it (bend, key of Sa), or None where it moves;
    ``bend`` the bend to be set before it, or None where that is set already; ``retune`` the key of
    Sa to retune the channel to, or None; ``moves`` the bends (tick, value) while it sounds.
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

    def alike(self, other: Struck) -> bool:
        """Whether both are one key at one pitch that does not move."""
        return self.key == other.key and self.tuned is not None and self.tuned == other.tuned

    def cut(self, tick: int) -> None:
        """End it at a tick; where that is but one tick too early it arrives all the same."""
        if self.moves:
            kept = self.end if tick == self.end - 1 else tick
            self.moves = [(min(at, tick), bend) for at, bend in self.moves if at <= kept]
        self.end = tick


ToTick: TypeAlias = Callable[[Fraction], int]
ToSpan: TypeAlias = Callable[[Sound], tuple[int, int]]


class Sounding:
    """All pitched sounds of a score on the channels of its plan, in the order of each part."""

    def __init__(
        self,
        score: Score,
        plan: Plan,
        tick: ToTick,
        span: ToSpan,
        ticks: int,
        tuning_standard: bool,
    ) -> None:
        self.score = score
        self.plan = plan
        self.tick = tick
        self.span = span
        self.ticks = ticks
        self.semitones = [score.tuning.bend(tone) / 100 for tone in range(12)]
        """The bend of each tone; with the tuning standard only what that cannot reach."""
        if tuning_standard:
            tonic = score.tonic.midi
            offsets = octave_offsets(tonic, score.tuning)
            for tone in range(12):
                self.semitones[tone] -= offset_cents(offsets[(tonic + tone) % 12]) / 100
        self.retunes = tuning_standard
        self.tempo_starts = [mark.at for mark in score.tempos]
        self.tuned_channels = {
            channel for (part, _), channel in plan.channels.items() if part in plan.tuned
        }
        self.ranges = self._ranges()
        self.of_part = [self._part(number) for number in range(len(score.parts))]
        by_channel: dict[int, list[Struck]] = {}
        for part in self.of_part:
            for struck in part:
                by_channel.setdefault(struck.channel, []).append(struck)
        for sounds in by_channel.values():
            # Sorting keeps what begins at once in the order of the parts.
            self._settle(sorted(sounds, key=lambda struck: struck.start))

    def _ranges(self) -> dict[int, int]:
        """The bend range of each channel: what its widest sound needs."""
        usual = bend_range(min(self.semitones), max(self.semitones))
        ranges = {
            channel: usual if channel in self.tuned_channels else USUAL_RANGE
            for channel in self.plan.programs
        }
        for number in self.plan.tuned:
            for sound in self.score.parts[number].sounds:
                if sound.curve:
                    own = self.semitones[sound.pitch % 12]
                    values = [own, *(own + by for _, by in sound.curve)]
                    channel = self.plan.channel_of(number, sound.voice)
                    needed = bend_range(min(values), max(values))
                    ranges[channel] = max(ranges[channel], needed)
        return ranges

    def _part(self, number: int) -> list[Struck]:
        """The sounds of one part as they stand in it, uncut."""
        part = self.score.parts[number]
        tuned = number in self.plan.tuned
        tonic = self.score.tonic.midi
        bends: dict[int, list[int]] = {}
        channels = {
            voice: channel for (of, voice), channel in self.plan.channels.items() if of == number
        }
        found = []
        for sound in part.sounds:
            channel = channels[sound.voice]
            base = tonic if sound.base is None else sound.base
            start, end = self.span(sound)
            bend = 0
            if tuned:
                of_tones = bends.get(channel)
                if of_tones is None:
                    wide = self.ranges[channel]
                    of_tones = bends[channel] = [bend_steps(by, wide) for by in self.semitones]
                bend = of_tones[sound.pitch % 12]
            struck = Struck(
                number,
                start,
                max(end, start + 1),
                channel,
                base + sound.pitch,
                sound.velocity,
                sound.text,
                (bend, base if self.retunes and tuned else 0),
                bend,
                base if self.retunes and tuned else None,
            )
            if tuned and sound.curve:
                struck.tuned = None
                self._move(struck, sound)
            found.append(struck)
        return found

    def _move(self, struck: Struck, sound: Sound) -> None:
        """Give a sound the bends of its curve."""
        own = self.semitones[sound.pitch % 12]
        wide = self.ranges[struck.channel]
        mark = max(0, bisect_right(self.tempo_starts, sound.start) - 1)
        tempo = self.score.tempos[mark].tempo if self.score.tempos else Fraction(120)
        points: list[tuple[int, float]] = []
        for at, by in sound.curve:
            tick, value = self.tick(sound.start + at), own + by
            if not points and tick > struck.start:
                points.append((struck.start, value))  # held at the first until it comes
            if tick > struck.end:  # the sound was cut off on its way
                (before, low), along = points[-1], struck.end - points[-1][0]
                points.append((struck.end, low + (value - low) * along / (tick - before)))
                break
            if points and points[-1][0] == tick:
                points.pop()
            points.append((tick, value))
        struck.bend = last = bend_steps(points[0][1], wide)
        moves = []
        for tick, semitones in moving(points, 60 / float(tempo) / self.ticks):
            bend = bend_steps(semitones, wide)
            if bend != last:
                moves.append((tick, bend))
                last = bend
        struck.moves = moves

    def _settle(self, sounds: list[Struck]) -> None:
        """Cut what rings into what it cannot sound with, and set each bend but once.

        ``sounds`` are those of one channel in order of time.
        """
        bent, base = 0, self.score.tonic.midi
        ringing: dict[int, Struck] = {}
        last: Struck | None = None
        for struck in sounds:
            for key, before in list(ringing.items()):
                # Tracks are played in their order: what a later track ends on this very tick
                # would end after what begins here, so it has to end a tick before.
                latest = struck.start - (before.part > struck.part)
                if before.end > latest:
                    if key != struck.key and before.tuned == struck.tuned is not None:
                        continue
                    if before.start == struck.start and before.alike(struck):
                        # One key struck twice at once is struck once, as loud and as long.
                        struck.end = max(struck.end, before.end)
                        struck.velocity = max(struck.velocity, before.velocity)
                    before.cut(max(latest, before.start))
                del ringing[key]
            if last is not None and last.moves:
                bent = last.moves[-1][1]
            if struck.bend == bent:
                struck.bend = None
            elif struck.bend is not None:
                bent = struck.bend
            if struck.retune == base:
                struck.retune = None
            elif struck.retune is not None:
                base = struck.retune
            ringing[struck.key] = last = struck
