"""Stems mixed: levels, places between left and right, the room, one loudness, no peak too high."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import cycle
from pathlib import Path

import numpy as np

from cyclechart.sound.limiting import BORDER, NEAR, ceiling, limiting_gains
from cyclechart.sound.loudness import Meter
from cyclechart.sound.rate import RATE, Stereo, Wave
from cyclechart.sound.room import Room
from cyclechart.write.audio.performance import KIT, PartEvents, Performance
from cyclechart.write.audio.stems import BLOCK, stem

TARGET = -16.0
"""LUFS: what is common for speech and music on phones (AES TD1008, EBU R 128 s2)."""
RING_OUT = 3 * RATE
"""The time for which the last sounds ring on."""
FADE_OUT = RATE
"""Over the last second of that it fades."""
TOLERANCE = 0.2
"""LU: a limited mix that is nearer to the target than this is taken."""
LOSSY_HEADROOM = 10 ** (-0.7 / 20)
"""Room for what MP3 and Vorbis add to a peak (measured: 0.1 to 0.5 dB)."""
MOST_LIMITED = 9.0
"""dB: a mix of few, short sounds stays below the target rather than be flattened more than so."""

KIT_LEVEL = 4.0
"""dB that a drum kit gets beyond hand drums: its strokes are short."""

Blocks = Callable[[], Iterator[Stereo]]
"""A mix that can be had again and again, in blocks of ``BLOCK`` frames."""


@dataclass(frozen=True)
class MixGains:
    """A part's place in the mix: factors for the left, the right and the room."""

    left: float
    right: float
    room: float


def part_level(part: PartEvents) -> float:
    """Return the level of a part in the mix, in dB."""
    return part.role.level + (KIT_LEVEL if part.voice == KIT else 0.0)


def part_pans(parts: Sequence[PartEvents]) -> list[float]:
    """Return the place of each part, -1 left to 1 right, by its turn in its role."""
    turns = {part.role: cycle(part.role.pans) for part in parts}
    return [next(turns[part.role]) for part in parts]


def part_gains(parts: Sequence[PartEvents]) -> list[MixGains]:
    """Return the place of each part in the mix, the same whoever else plays."""
    found = []
    for part, pan in zip(parts, part_pans(parts), strict=True):
        angle = (pan + 1) * math.pi / 4
        level = 10 ** (part_level(part) / 20)
        found.append(
            MixGains(
                level * math.cos(angle),
                level * math.sin(angle),
                level * 10 ** (part.role.room / 20),
            )
        )
    return found


def mix_stems(
    stems: Sequence[Iterator[Wave]], where: Sequence[MixGains], room: Room | None = None
) -> Iterator[Stereo]:
    """The stems, all of one length, as one sound in their room."""
    room = Room() if room is None else room
    for waves in zip(*stems, strict=True):
        sides = np.zeros((len(waves[0]), 2), dtype=np.float32)
        sent = np.zeros(len(waves[0]), dtype=np.float32)
        for wave, place in zip(waves, where, strict=True):
            sides[:, 0] += wave * np.float32(place.left)
            sides[:, 1] += wave * np.float32(place.right)
            sent += wave * np.float32(place.room)
        # The room answers a click with an energy of 1 a side, spread over its whole ring.
        yield sides + room.reverberated(sent)


def write_raw_mix(
    performance: Performance,
    where: Sequence[MixGains],
    to: Path,
    seamless: bool = False,
) -> None:
    """A whole performance, mixed but not mastered, as raw samples in a file.

    ``seamless``: what rings over the end, in the room too, is heard at the beginning.
    """
    frames = performance.frames + (0 if seamless else RING_OUT)
    stems = [stem(part, frames, seamless) for part in performance.parts]
    room = Room()
    if seamless:
        # The room is warm from the round before.
        for _ in mix_stems([stem(part, frames, True) for part in performance.parts], where, room):
            pass
    with to.open("wb") as file:
        for block in mix_stems(stems, where, room):
            file.write(block.tobytes())


def raw_blocks(path: Path) -> Iterator[Stereo]:
    """Raw samples of a file, block after block."""
    with path.open("rb") as file:
        while data := file.read(BLOCK * 8):
            yield np.frombuffer(data, dtype=np.float32).reshape(-1, 2)


@dataclass(frozen=True)
class Mastering:
    """The mastering of a mix: the factor that brings it to its loudness, the LUFS it then has, and
    ``top``, the highest peak it may have."""

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
        peaks.append(float(np.abs(block).max(initial=0)))
    loudness = meter.integrated()
    if math.isinf(loudness):
        return Mastering(1.0, False, loudness, top)
    factor = 10 ** ((TARGET - loudness) / 20)
    highest = max(peaks)
    if factor * highest < top * NEAR:
        return Mastering(factor, False, TARGET, top)
    most = 10 ** (MOST_LIMITED / 20) * top / highest
    factor = min(factor, most)
    reached = -math.inf
    for left in range(3, -1, -1):
        meter = Meter()
        limits = False
        for block, limited in _limited(blocks(), factor, top):
            meter.add(block)
            limits = limits or limited
        reached = meter.integrated()
        short = TARGET - reached
        if abs(short) < TOLERANCE or (short > 0 and factor >= most) or not left:
            break
        factor = min(factor * 10 ** (short / 20), most)
    return Mastering(factor, limits, reached, top)


def apply_mastering(
    blocks: Iterator[Stereo], how: Mastering, frames: int | None
) -> Iterator[Stereo]:
    """Yield the mix at its loudness.

    It is ``frames`` long and fades over the last ``FADE_OUT`` of them, or does not fade (None).
    """
    done = 0
    limited = (block for block, _ in _limited(blocks, how.factor, how.top))
    for block in limited if how.limits else _amplified(blocks, how.factor):
        if frames is not None and done + len(block) > frames - FADE_OUT:
            left = np.clip((frames - done - np.arange(len(block))) / FADE_OUT, 0, 1)
            block = block * (0.5 - 0.5 * np.cos(np.pi * left))[:, None].astype(np.float32)
        done += len(block)
        yield block


def _limited(blocks: Iterator[Stereo], factor: float, top: float) -> Iterator[tuple[Stereo, bool]]:
    """Each block times a factor, its peaks kept below the ceiling, and whether it had any."""
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
    """Blocks of ``BORDER`` frames at least: one block has to show the one before all it asks for.
    Only the last may be shorter."""
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
