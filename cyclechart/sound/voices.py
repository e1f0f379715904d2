"""One note of a melody voice: exactly in tune, with glides and a soft beginning and end."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cyclechart.sound import voice_tables
from cyclechart.sound.rate import RATE, Wave
from cyclechart.sound.voice_tables import REFERENCE_HZ, Voice
from cyclechart.sound.wavetable import (
    NOISE_FRAMES,
    TOP_HZ,
    Floats,
    bank_step,
    noise_loop,
    read_faded,
    waveform_at,
    waveform_bank,
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
HOP = 16
"""Frames (0.4 ms) of the straight lines in which level and pitch change."""
_ALONG = np.arange(BLOCK) / BLOCK
_PARTS = np.arange(HOP) / HOP
_BURST_RISE = 0.0006
_LEAST_ATTACK = 0.001
_TREMOR_BRIGHT = 0.08
"""The swell of brightness for each dB of level."""


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
) -> Wave:
    """Return a note held for ``frames``, and its tail: shape (frames + tail(voice),).

    Args:
        voice: A name of ``voice_tables``.
        hz: Its pitch. Steady, it is exact to 0.001 cents.
        frames: The frames it is held, at least 1.
        velocity: 1 to 127.
        curve: Its moves of pitch: (frame from its start, cents from ``hz``), in order; the last one
            holds to the end of the tail. It starts on ``hz`` where the first point is later than
            frame 0; of points on one frame the last holds. Between two points it eases as half a
            turn of a cosine; points that lead on in one direction are passed without a stop.

    Raises:
        ValueError: No such voice; a pitch, of the curve too, not from BOTTOM_HZ to
            below TOP_HZ; ``frames``, ``velocity`` or the order of the curve's frames out of range.
    """
    return play(voice_tables.named_voice(voice), hz, frames, velocity, curve)


def play(
    voice: Voice,
    hz: float,
    frames: int,
    velocity: int,
    curve: Sequence[tuple[int, float]] = (),
) -> Wave:
    """Return a note as ``tone`` does, of any voice."""
    if not 1 <= velocity <= 127:
        raise ValueError(f"velocity {velocity} is not between 1 and 127")
    if frames < 1:
        raise ValueError(f"a note of {frames} frames")
    points = _points(curve)
    for _, cents in points:
        # In octaves: a power of two may be too large to be a number.
        if not (
            hz > 0 and math.log2(BOTTOM_HZ) <= math.log2(hz) + cents / 1200 < math.log2(TOP_HZ)
        ):
            raise ValueError(f"{hz} Hz and {cents} cents: not from {BOTTOM_HZ} to {TOP_HZ} Hz")
    gain = USUAL_RMS * voice.gain * math.pow(velocity / USUAL_VELOCITY, LOUDER)
    note = _Note(voice, hz, frames, velocity, _tail(voice), gain)
    blocks = -(-note.total // BLOCK)
    sound = np.empty(note.total, np.float32)
    pitches = _Pitches(hz, points)
    tops = [pitches.top(at * BLOCK, (at + 1) * BLOCK) for at in range(blocks)]
    first = note.table(0, tops[0])
    for at in range(blocks):
        start = at * BLOCK
        # Where two blocks meet, the table has to suit the higher of them.
        last = note.table(start + BLOCK, max(tops[at : at + 2]))
        if last[0] == first[0]:
            last = first
        turns = pitches.turns(BLOCK)
        block = read_faded(first[1], last[1], turns, _ALONG)
        stop = min(start + BLOCK, note.total)
        sound[start:stop] = note.shape(block, start)[: stop - start]
        first = last
    return sound


def _tail(voice: Voice) -> int:
    return round(voice.release * RATE)


def _points(curve: Sequence[tuple[int, float]]) -> list[tuple[int, float]]:
    """Return the curve with a start, and one point a frame."""
    points = {0: 0.0}
    before = 0
    for frame, cents in curve:
        if frame < before:
            raise ValueError(f"a curve's frames must not go back: {frame} after {before}")
        points[frame] = cents
        before = frame
    return list(points.items())


class _Pitches:
    """The phase of a note, block by block, in float64 throughout."""

    def __init__(self, hz: float, points: list[tuple[int, float]]) -> None:
        self._step = hz / RATE
        self._hz = hz
        self._frames: Floats = np.array([frame for frame, _ in points], np.float64)
        self._cents: Floats = np.array([cents for _, cents in points], np.float64)
        self._slopes = _slopes(self._frames, self._cents)
        self._lengths = np.diff(self._frames)
        self._rises = np.diff(self._cents)
        self._moving = bool(np.any(self._rises))
        self._at = 0
        self._turn = 0.0

    def top(self, start: int, stop: int) -> float:
        """Return the highest pitch (Hz) between two frames: no glide goes beyond its two ends."""
        if not self._moving:
            return self._hz
        inside = (self._frames > start) & (self._frames < stop)
        ends: Floats = np.array([start, stop], np.float64)
        cents = [*self._eased(ends).tolist(), *self._cents[inside].tolist()]
        return self._hz * math.exp2(max(cents) / 1200)

    def turns(self, count: int) -> Floats:
        """Return the phases of the next frames, in turns."""
        start = self._at
        self._at += count
        if not self._moving or start > self._frames[-1]:
            step = self._step * math.exp2(self._cents[-1] / 1200)
            steady: Floats = self._turn + step * np.arange(count, dtype=np.float64)
            self._turn = (self._turn + step * count) % 1.0
            return steady
        # Half a frame on: the pitch in the middle of the step that it makes.
        hops: Floats = np.arange(start, start + count + 1, HOP, dtype=np.float64) + 0.5
        steps = _ramps(self._step * np.exp2(self._eased(hops) / 1200))
        turns = np.empty(count)
        turns[0] = self._turn
        np.cumsum(steps[:-1], out=turns[1:])
        turns[1:] += self._turn
        self._turn = float(turns[-1] + steps[-1]) % 1.0
        return turns

    def _eased(self, frames: Floats) -> Floats:
        """Return the cents at frames: half a cosine from point to point, and the slopes on top."""
        piece = np.searchsorted(self._frames, frames, side="right") - 1
        piece = np.minimum(piece, len(self._lengths) - 1)
        length = self._lengths[piece]
        t = np.minimum((frames - self._frames[piece]) / length, 1.0)
        cents = self._cents[piece] + self._rises[piece] * (0.5 - 0.5 * np.cos(np.pi * t))
        # The slope terms of a cubic: none where the pitch is at rest at both ends.
        bend = self._slopes[piece] * (1 - t) - self._slopes[piece + 1] * t
        eased: Floats = cents + length * bend * t * (1 - t)
        return eased


def _ramps(values: Floats) -> Floats:
    """Return straight lines from each value to the next over HOP frames."""
    steps = (values[1:] - values[:-1])[:, None] * _PARTS
    ramps: Floats = (values[:-1, None] + steps).ravel()
    return ramps


def _slopes(frames: Floats, cents: Floats) -> Floats:
    """Return the slope of the pitch at each point (cents a frame): 0 at both ends and at turns.

    Elsewhere the harmonic mean of the slopes beside it, which never overshoots (Fritsch and
    Butland, SIAM J. Sci. Stat. Comput. 5, 1984). Without it a glide given in many points would
    stop at each of them.
    """
    slopes = np.zeros(len(frames))
    if len(frames) > 2:
        sides = np.diff(cents) / np.diff(frames)
        before, after = sides[:-1], sides[1:]
        onward = before * after > 0
        mean = 2 * before * after / np.where(onward, before + after, 1.0)
        slopes[1:-1] = np.where(onward, mean, 0.0)
    return slopes


@dataclass(frozen=True, slots=True)
class _Note:
    """The level, brightness and noise of one note over time."""

    voice: Voice
    hz: float
    frames: int
    velocity: int
    released: int
    gain: float

    @property
    def total(self) -> int:
        return self.frames + self.released

    @property
    def _attack(self) -> float:
        """Frames of attack: at most half a short note, so that the note is audible."""
        return max(_LEAST_ATTACK * RATE, min(self.voice.attack * RATE, self.frames / 2))

    def table(self, frame: int, hz: float) -> tuple[tuple[int, float], Floats]:
        """Return the key and the table to read at a frame, for pitches up to ``hz`` near it."""
        voice = self.voice
        seconds = frame / RATE
        bright = voice.soft + (voice.loud - voice.soft) * (self.velocity - 1) / 126
        bright *= voice.keeps + (1 - voice.keeps) * math.exp(-seconds / voice.dulls)
        if voice.bloom and not self._attack <= frame <= self.frames:
            bright *= 1 - voice.bloom * (1 - float(self._gate(np.array([float(frame)]))[0]))
        if voice.tremor.depth:
            bright += _TREMOR_BRIGHT * float(self._tremor(np.array([seconds]))[0])
        step = bank_step(hz)
        return (step, bright), waveform_at(waveform_bank(voice, step), bright)

    def shape(self, block: Floats, start: int) -> Floats:
        """Return a block of the bare tone at its level, with its noise added."""
        band = self.voice.noise
        level = self._level(start, len(block))
        hiss = None
        # Any part of the noise will do, but not the same one for each note.
        offset = (round(self.hz * 997) + self.velocity * 7919 + start) % NOISE_FRAMES
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
        if start < self._attack or closes:
            gate = self._gate(np.arange(start, start + len(block), dtype=float))
            block *= gate
        if hiss is not None and band.burst and start < 10 * band.burst_seconds * RATE:
            block += hiss * self._burst(start, len(block))
        return block

    def _level(self, start: int, count: int) -> Floats:
        """Return the gain of each frame: decay, fade and tremor, times the note's loudness."""
        voice = self.voice
        seconds = np.arange(start, start + count + 1, HOP) / RATE
        level = voice.sustain + (1 - voice.sustain) * np.exp(-seconds / voice.decay)
        decibels = self._tremor(seconds)
        if voice.fade:
            rate = voice.fade * (self.hz / REFERENCE_HZ) ** voice.fade_by_pitch
            decibels = decibels - rate * seconds
        level *= self.gain * 10 ** (decibels / 20)
        return _ramps(level)

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
        rise = np.sin(np.pi / 2 * np.clip(frames / self._attack, 0.0, 1.0))
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
        burst: Floats = self.gain * band.burst * fall * rise * self._release(frames)
        return burst
