"""The mix of the stems: levels, panning, the room, one loudness, no peak above the ceiling."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from cyclechart.catalog.roles import pans_in_turn
from cyclechart.sound.limiting import BORDER, NEAR, ceiling, limiting_gains, louder_side
from cyclechart.sound.loudness import Meter
from cyclechart.sound.rate import RATE, Stereo, Wave
from cyclechart.sound.room import Room
from cyclechart.write.audio.performance import KIT, PartEvents, Performance
from cyclechart.write.audio.player_stems import player_stem, speaker_of
from cyclechart.write.audio.sound_options import USUAL, SoundOptions
from cyclechart.write.audio.stems import BLOCK

TARGET = -16.0
"""LUFS: common for speech and music on phones (AES TD1008, EBU R 128 s2)."""
RING_OUT = 3 * RATE
"""Frames in which the last sounds ring on after the end."""
FADE_OUT = RATE
"""Frames of the fade at the end of that."""
TOLERANCE = 0.2
"""LU: a limited mix that is nearer to the target than this is accepted."""
LOSSY_HEADROOM = 10 ** (-0.7 / 20)
"""The factor that leaves room for the rise of peaks in MP3 and Vorbis (measured: 0.1 to 0.5 dB)."""
MOST_LIMITED = 9.0
"""dB: a mix of few, short sounds stays below the target rather than be limited by more."""

KIT_LEVEL = 1.5
"""dB that a drum kit is raised above hand drums: its strokes are short."""

Blocks = Callable[[], Iterator[Stereo]]
"""Gives the blocks of a mix, of ``BLOCK`` frames each, from the beginning at every call."""


@dataclass(frozen=True)
class MixGains:
    """The gains of a part in the mix: factors for the left, the right and the room."""

    left: float
    right: float
    room: float


def part_level(part: PartEvents, options: SoundOptions = USUAL) -> float:
    """Return the level of a part in the mix, in dB."""
    level = part.role.level + (KIT_LEVEL if part.voice == KIT else 0.0)
    return level + (speaker_of(part).level if options.for_loudspeakers else 0.0)


def part_pans(parts: Sequence[PartEvents]) -> list[float]:
    """Return the pan of each part, -1 left to 1 right; parts of one role take turns in its pans."""
    return pans_in_turn([part.role for part in parts])


def part_gains(parts: Sequence[PartEvents], options: SoundOptions = USUAL) -> list[MixGains]:
    """Return the gains of each part in the mix. Levels do not depend on the other parts."""
    gains = []
    for part, pan in zip(parts, part_pans(parts), strict=True):
        angle = (pan + 1) * math.pi / 4
        level = 10 ** (part_level(part, options) / 20)
        gains.append(
            MixGains(
                level * math.cos(angle),
                level * math.sin(angle),
                level * 10 ** (part.role.room / 20),
            )
        )
    return gains


def mix_stems(
    stems: Sequence[Iterator[Wave]], gains: Sequence[MixGains], room: Room | None = None
) -> Iterator[Stereo]:
    """Yield the mix of the stems, which are of one length, in their room: blocks (frames, 2)."""
    room = Room() if room is None else room
    for waves in zip(*stems, strict=True):
        sides = np.zeros((len(waves[0]), 2), dtype=np.float32)
        sent = np.zeros(len(waves[0]), dtype=np.float32)
        for wave, gain in zip(waves, gains, strict=True):
            sides[:, 0] += wave * np.float32(gain.left)
            sides[:, 1] += wave * np.float32(gain.right)
            sent += wave * np.float32(gain.room)
        # The response of the room has an energy of 1 on each side.
        yield sides + room.reverberate(sent)


def write_raw_mix(
    performance: Performance,
    gains: Sequence[MixGains],
    to: Path,
    seamless: bool = False,
    options: SoundOptions = USUAL,
) -> None:
    """Write a whole performance, mixed but not mastered, to a file of raw samples.

    ``seamless``: sounds that ring over the end, in the room too, are heard at the beginning.
    """
    frames = performance.frames + (0 if seamless else RING_OUT)

    def stems() -> list[Iterator[Wave]]:
        return [player_stem(part, frames, options, seamless) for part in performance.parts]

    room = Room()
    if seamless:
        # The room still rings from the end of the loop.
        for _ in mix_stems(stems(), gains, room):
            pass
    with to.open("wb") as file:
        for block in mix_stems(stems(), gains, room):
            file.write(block.tobytes())


def raw_blocks(path: Path) -> Iterator[Stereo]:
    """Yield the raw samples of a file, block after block: each (frames, 2)."""
    with path.open("rb") as file:
        while data := file.read(BLOCK * 8):
            yield np.frombuffer(data, dtype=np.float32).reshape(-1, 2)


@dataclass(frozen=True)
class Mastering:
    """The mastering of a mix.

    ``factor``: brings it to its loudness; ``limits``: its peaks have to be limited; ``loudness``:
    the LUFS it then has; ``top``: its highest peak allowed, as a factor of full scale.
    """

    factor: float
    limits: bool
    loudness: float
    top: float


def mastering_of(blocks: Blocks, lossy: bool = False) -> Mastering:
    """Return the mastering that brings a mix to ``TARGET``, its peaks below the ceiling.

    A ``lossy`` file's peaks come out some tenths of a dB higher than they went in.
    """
    top = ceiling() * (LOSSY_HEADROOM if lossy else 1.0)
    meter, peaks = Meter(), []
    for block in blocks():
        meter.add(block)
        peaks.append(float(louder_side(block).max(initial=0)))
    loudness = meter.integrated()
    if math.isinf(loudness):
        return Mastering(1.0, False, loudness, top)
    factor = 10 ** ((TARGET - loudness) / 20)
    highest = max(peaks)
    if factor * highest < top * NEAR:
        return Mastering(factor, False, TARGET, top)
    highest_factor = 10 ** (MOST_LIMITED / 20) * top / highest
    factor = min(factor, highest_factor)
    reached = -math.inf
    for rounds_left in range(3, -1, -1):
        meter = Meter()
        limits = False
        for block, limited in _limited(blocks(), factor, top):
            meter.add(block)
            limits = limits or limited
        reached = meter.integrated()
        short = TARGET - reached
        if abs(short) < TOLERANCE or (short > 0 and factor >= highest_factor) or not rounds_left:
            break
        factor = min(factor * 10 ** (short / 20), highest_factor)
    return Mastering(factor, limits, reached, top)


def apply_mastering(
    blocks: Iterator[Stereo], mastering: Mastering, frames: int | None
) -> Iterator[Stereo]:
    """Yield the mix at its loudness.

    It is ``frames`` long and fades over the last ``FADE_OUT`` of them, or does not fade (None).
    """
    done = 0
    limited = (block for block, _ in _limited(blocks, mastering.factor, mastering.top))
    for block in limited if mastering.limits else _amplified(blocks, mastering.factor):
        if frames is not None and done + len(block) > frames - FADE_OUT:
            left = np.clip((frames - done - np.arange(len(block))) / FADE_OUT, 0, 1)
            block = block * (0.5 - 0.5 * np.cos(np.pi * left))[:, None].astype(np.float32)
        done += len(block)
        yield block


def _limited(blocks: Iterator[Stereo], factor: float, top: float) -> Iterator[tuple[Stereo, bool]]:
    """Yield each block times a factor with its peaks limited, and True if it had any to limit."""
    before = np.zeros((BORDER, 2), dtype=np.float32)
    here: Stereo | None = None
    for after in _with_end(_regrouped(_amplified(blocks, factor))):
        if here is not None:
            behind = after[:BORDER] if after is not None else np.zeros((0, 2), dtype=np.float32)
            around = np.concatenate([before, here, behind])
            factors = limiting_gains(around, top)
            before = np.concatenate([before, here])[-BORDER:]
            if factors is None:
                yield here, False
            else:
                own = factors[BORDER : BORDER + len(here)]
                yield here * own[:, None].astype(np.float32), True
        here = after


def _amplified(blocks: Iterator[Stereo], factor: float) -> Iterator[Stereo]:
    for block in blocks:
        yield block * np.float32(factor)


def _regrouped(blocks: Iterator[Stereo]) -> Iterator[Stereo]:
    """Yield blocks of at least ``BORDER`` frames, which the limiter needs of each neighbour.

    Only the last one may be shorter.
    """
    short: list[Stereo] = []
    for block in blocks:
        short.append(block)
        if sum(map(len, short)) >= BORDER:
            yield np.concatenate(short)
            short = []
    if short:
        yield np.concatenate(short)


def _with_end(blocks: Iterator[Stereo]) -> Iterator[Stereo | None]:
    yield from blocks
    yield None
