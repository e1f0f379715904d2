"""One note of a melody voice, or a phrase in one breath: exactly in tune, with glides and a soft
beginning and end, its level, brightness and partials slowly changing."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from cyclechart.sound import voice_tables
from cyclechart.sound.drift import MIXTURES, WAYS, courses
from cyclechart.sound.legato import Joins, LegatoTone, phrase_curve
from cyclechart.sound.pitch_curve import HOP, Pitches, curve_points, ramps
from cyclechart.sound.rate import RATE, Wave
from cyclechart.sound.voice_tables import REFERENCE_HZ, STEADY, Voice
from cyclechart.sound.wavetable import (
    NOISE_FRAMES,
    TOP_HZ,
    Floats,
    bank_step,
    noise_loop,
    partial_bank,
    partials_at,
    read_faded,
    waveform,
)

USUAL_VELOCITY = 86
USUAL_RMS = 0.1
"""-20 dBFS at the usual velocity."""
LOUDER = 1.5
"""The amplitude is the velocity to this power: 40 dB from 6 to 127."""

BOTTOM_HZ = 1.0
"""The lowest pitch."""

BLOCK = 2048
"""Frames over which one table fades into the next."""
_ALONG = np.arange(BLOCK) / BLOCK
_BURST_RISE = 0.0006
_LEAST_ATTACK = 0.001
_TREMOR_BRIGHT = 0.08
"""The swell of brightness for each dB of level."""
TAKES = 4
"""How many ways there are of playing one note: its slow change differs from one to the next."""
_KEEPS_AGE = 0.5
"""The part of its age that a plucked tone keeps where a finger of the left hand sounds the next."""
_MOST_DRIFT = 0.5
"""The most of its amplitude that a partial loses or gains."""


def tail(voice: str) -> int:
    """Return the number of frames that a note of a voice sounds on after its end.

    Raises:
        ValueError: There is no such voice.
    """
    return _tail(voice_tables.named_voice(voice))


def tone(
    voice: str,
    hz: float,
    frames: int,
    velocity: int,
    curve: Sequence[tuple[int, float]] = (),
    *,
    take: int = 0,
) -> Wave:
    """Return a note held for ``frames``, and its tail: shape (frames + tail(voice),).

    Args:
        voice: A name of ``voice_tables``.
        hz: Its pitch. Steady, it is exact to 0.05 cents over a second, for nothing but level and
            partials changes.
        frames: The frames it is held, at least 1.
        velocity: 1 to 127.
        curve: Its moves of pitch: (frame from its start, cents from ``hz``), in order; the last one
            holds to the end of the tail. It starts on ``hz`` where the first point is later than
            frame 0; of points on one frame the last holds. Between two points it eases as half a
            turn of a cosine; points that lead on in one direction are passed without a stop.
        take: Which of the ways of playing it, 0 to TAKES - 1.

    Raises:
        ValueError: No such voice; a pitch, of the curve too, not from BOTTOM_HZ to
            below TOP_HZ; ``frames``, ``velocity`` or the order of the curve's frames out of range.
    """
    return play(voice_tables.named_voice(voice), hz, frames, velocity, curve, take=take)


def play(
    voice: Voice,
    hz: float,
    frames: int,
    velocity: int,
    curve: Sequence[tuple[int, float]] = (),
    *,
    take: int = 0,
) -> Wave:
    """Return a note as ``tone`` does, of any voice."""
    return play_phrase(voice, [LegatoTone(0, hz, velocity, curve)], frames, take=take)


def phrase(voice: str, tones: Sequence[LegatoTone], frames: int, *, take: int = 0) -> Wave:
    """Return tones in one breath, bow or stroke, and the tail of the last: as long as ``tone``.

    Args:
        voice: A name of ``voice_tables``.
        tones: In order; the first begins on frame 0, each is held until the next begins.
        frames: The frames to the end of the last.
        take: As for ``tone``.

    Raises:
        ValueError: As for ``tone``; tones that do not begin one after another within ``frames``.
    """
    return play_phrase(voice_tables.named_voice(voice), tones, frames, take=take)


def play_phrase(voice: Voice, tones: Sequence[LegatoTone], frames: int, *, take: int = 0) -> Wave:
    """Return a phrase as ``phrase`` does, of any voice."""
    hz = tones[0].hz
    points = _checked_points(tones, frames)
    note = _Note(voice, tones, frames, take)
    pitches = Pitches(hz, points)
    count = -(-note.total // BLOCK)
    tops = [pitches.top(at * BLOCK, (at + 1) * BLOCK) for at in range(count)]
    # Where two blocks meet, the table has to suit the higher of them.
    edges = [max(tops[max(0, at - 1) : at + 1]) for at in range(count)] + tops[-1:]
    tables = note.tables(edges)
    sound = np.empty(note.total, np.float32)
    first = next(tables)
    for at in range(count):
        start = at * BLOCK
        last = next(tables)
        block = read_faded(first, last, pitches.turns(BLOCK), _ALONG)
        stop = min(start + BLOCK, note.total)
        sound[start:stop] = note.shape(block, start)[: stop - start]
        first = last
    return sound


def _checked_points(tones: Sequence[LegatoTone], frames: int) -> list[tuple[int, float]]:
    """Return the points of a phrase's curve. ValueError where it cannot be played."""
    if frames < 1:
        raise ValueError(f"a note of {frames} frames")
    starts = [*(tone.start for tone in tones), frames]
    if starts[0] or any(after <= before for before, after in pairwise(starts)):
        raise ValueError(f"tones that begin at {starts[:-1]} within {frames} frames")
    for tone in tones:
        if not 1 <= tone.velocity <= 127:
            raise ValueError(f"velocity {tone.velocity} is not between 1 and 127")
        for _, cents in curve_points(tone.curve):
            # In octaves: a power of two may be too large to be a number.
            if not (
                tone.hz > 0
                and math.log2(BOTTOM_HZ) <= math.log2(tone.hz) + cents / 1200 < math.log2(TOP_HZ)
            ):
                raise ValueError(f"{tone.hz} Hz and {cents} cents: not {BOTTOM_HZ} to {TOP_HZ} Hz")
    return curve_points(phrase_curve(tones, frames))


def _tail(voice: Voice) -> int:
    return round(voice.release * RATE)


class _Note:
    """The level, brightness, partials and noise of one note or phrase over time."""

    def __init__(self, voice: Voice, tones: Sequence[LegatoTone], frames: int, take: int) -> None:
        self.voice = voice
        self.hz = tones[0].hz
        self.frames = frames
        self.released = _tail(voice)
        self.joins = Joins(tones, _KEEPS_AGE if voice.fade else 1.0)
        self.seed = round(self.hz * 997) + tones[0].velocity * 7919 + take * 15_485_863
        first = tones[1].start if len(tones) > 1 else frames
        # At most half a short note, so that the note is audible.
        self.attack = max(_LEAST_ATTACK * RATE, min(voice.attack * RATE, first / 2))

    @property
    def total(self) -> int:
        return self.frames + self.released

    def tables(self, edges: Sequence[float]) -> Iterator[Floats]:
        """Yield the waveform at each edge of blocks, for pitches up to ``edges`` (Hz) near it."""
        frames = np.arange(len(edges), dtype=float) * BLOCK
        brights = self._brights(frames)
        drift = self.voice.drift
        if drift == STEADY:
            gains, changes = np.ones(len(edges)), None
        else:
            levels, bright, *ways = courses(
                self.seed + self.frames, 2 + WAYS, frames / RATE, drift.rate
            )
            gains = 10 ** (drift.level * levels / 20)
            brights = brights + drift.bright * bright
            changes = drift.partials * np.array(ways).T
        steps = [bank_step(hz) for hz in edges]
        known: tuple[int, float] | None = None
        table: Floats = np.empty(0)
        for at, (step, level) in enumerate(zip(steps, brights.tolist(), strict=True)):
            if changes is None and known == (step, level):
                yield table
                continue
            known = step, level
            partials = partials_at(partial_bank(self.voice, step), level) * gains[at]
            if changes is not None:
                mixed = MIXTURES[: len(partials)] @ changes[at]
                partials *= 1 + np.clip(mixed, -_MOST_DRIFT, _MOST_DRIFT)
            table = waveform(partials)
            yield table

    def _brights(self, frames: Floats) -> Floats:
        voice = self.voice
        bright = voice.soft + (voice.loud - voice.soft) * (self.joins.velocities(frames) - 1) / 126
        aged = np.exp(self.joins.ages(frames) / (-voice.dulls * RATE))
        bright *= voice.keeps + (1 - voice.keeps) * aged
        if voice.bloom:
            bright *= 1 - voice.bloom * (1 - self._gate(frames))
        if voice.tremor.depth:
            bright += _TREMOR_BRIGHT * self._tremor(frames / RATE)
        found: Floats = bright
        return found

    def shape(self, block: Floats, start: int) -> Floats:
        """Return a block of the bare tone at its level, with its noise added."""
        band = self.voice.noise
        level = self._level(start, len(block))
        hiss = None
        # Any part of the noise will do, but not the same one for each note.
        offset = (self.seed + start) % NOISE_FRAMES
        if band.breath or start < 10 * band.burst_seconds * RATE:
            loop = noise_loop(band)
            hiss = loop[offset : offset + len(block)]
            if len(hiss) < len(block):
                hiss = np.concatenate([hiss, loop[: len(block) - len(hiss)]])
        if hiss is not None and band.breath:
            block += band.breath * hiss
        block *= level
        closes = start + len(block) > self.frames
        gate = None
        if start < self.attack or closes:
            gate = self._gate(np.arange(start, start + len(block), dtype=float))
            block *= gate
        if hiss is not None and band.burst and start < 10 * band.burst_seconds * RATE:
            block += hiss * self._burst(start, len(block))
        return block

    def _level(self, start: int, count: int) -> Floats:
        """Return the gain of each frame: decay, fade and tremor, times the note's loudness."""
        voice = self.voice
        frames = np.arange(start, start + count + 1, HOP, dtype=float)
        aged = self.joins.ages(frames) / RATE
        level = voice.sustain + (1 - voice.sustain) * np.exp(aged / -voice.decay)
        decibels = self._tremor(frames / RATE)
        if voice.fade:
            rate = voice.fade * (self.hz / REFERENCE_HZ) ** voice.fade_by_pitch
            decibels = decibels - rate * aged
        level *= self._gains(frames) * 10 ** (decibels / 20)
        return ramps(level)

    def _gains(self, frames: Floats) -> Floats:
        """Return the loudness of the velocity at each frame, with the dips where tones join."""
        if not len(self.joins.starts):
            frames = frames[:1]  # one for all
        part = (self.joins.velocities(frames) / USUAL_VELOCITY) ** LOUDER
        gains: Floats = USUAL_RMS * self.voice.gain * part * self.joins.dips(frames)
        return gains

    def _tremor(self, seconds: Floats) -> Floats:
        """Return the swell in dB."""
        tremor = self.voice.tremor
        if not tremor.depth:
            return np.zeros(len(seconds))
        after = np.maximum(0.0, seconds - tremor.delay)
        whole = np.minimum(1.0, after / tremor.delay)
        swell: Floats = tremor.depth * whole * np.sin(2 * np.pi * tremor.rate * after)
        return swell

    def _gate(self, frames: Floats) -> Floats:
        """Return attack and release as a gain from 0 to 1."""
        rise = np.sin(np.pi / 2 * np.clip(frames / self.attack, 0.0, 1.0))
        gate: Floats = rise * self._release(frames)
        return gate

    def _release(self, frames: Floats) -> Floats:
        part = np.clip((frames - self.frames) / self.released, 0.0, 1.0)
        release: Floats = 0.5 + 0.5 * np.cos(np.pi * part)
        return release

    def _burst(self, start: int, count: int) -> Floats:
        """Return the level of the burst of noise at the note's beginning."""
        band = self.voice.noise
        frames = np.arange(start, start + count, dtype=float)
        fall = np.exp(frames / (-band.burst_seconds * RATE))
        rise = -np.expm1(frames / (-_BURST_RISE * RATE))
        burst: Floats = self._gains(np.zeros(1)) * band.burst * fall * rise * self._release(frames)
        return burst
