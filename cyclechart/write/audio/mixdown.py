"""Stems mixed: levels, places between left and right, the room, one loudness, no peak too high."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import cycle
from pathlib import Path

import numpy as np

from cyclechart.sound.limiting import BORDER, NEAR, ceiling, gains
from cyclechart.sound.loudness import Meter
from cyclechart.sound.rate import RATE, Stereo, Wave
from cyclechart.sound.room import Room
from cyclechart.write.audio.performance import KIT, Performance, Played
from cyclechart.write.audio.stems import BLOCK, stem

TARGET = -16.0
"""LUFS: what is common for speech and music on phones (AES TD1008, EBU R 128 s2)."""
RING = 3 * RATE
"""The time for which the last sounds ring on."""
CLOSE = RATE
"""Over the last second of that it fades."""
NEARLY = 0.2
"""LU: a limited mix that is nearer to the target than this is taken."""
LOSSY = 10 ** (-0.7 / 20)
"""Room for what MP3 and Vorbis add to a peak (measured: 0.1 to 0.5 dB)."""
MOST_LIMITED = 9.0
"""dB: a mix of few, short sounds stays below the target rather than be flattened more than so."""

KIT_LEVEL = 4.0
"""dB that a drum kit gets beyond hand drums: its strokes are short."""

Blocks = Callable[[], Iterator[Stereo]]
"""A mix that can be had again and again, in blocks of ``BLOCK`` frames."""


@dataclass(frozen=True)
class Place:
    """A part's place in the mix: factors for the left, the right and the room."""

    left: float
    right: float
    room: float


def level_of(part: Played) -> float:
    """Return the level of a part in the mix, in dB."""
    return part.role.level + (KIT_LEVEL if part.voice == KIT else 0.0)


def pans(parts: Sequence[Played]) -> list[float]:
    """Return the place of each part, -1 left to 1 right, by its turn in its role."""
    turns = {part.role: cycle(part.role.pans) for part in parts}
    return [next(turns[part.role]) for part in parts]


def places(parts: Sequence[Played]) -> list[Place]:
    """Return the place of each part in the mix, the same whoever else plays."""
    found = []
    for part, pan in zip(parts, pans(parts), strict=True):
        angle = (pan + 1) * math.pi / 4
        level = 10 ** (level_of(part) / 20)
        found.append(
            Place(
                level * math.cos(angle),
                level * math.sin(angle),
                level * 10 ** (part.role.room / 20),
            )
        )
    return found


def mixed(
    stems: Sequence[Iterator[Wave]], where: Sequence[Place], room: Room | None = None
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


def rendered(
    performance: Performance,
    where: Sequence[Place],
    to: Path,
    seamless: bool = False,
) -> None:
    """A whole performance, mixed but not mastered, as raw samples in a file.

    ``seamless``: what rings over the end, in the room too, is heard at the beginning.
    """
    frames = performance.frames + (0 if seamless else RING)
    stems = [stem(part, frames, seamless) for part in performance.parts]
    room = Room()
    if seamless:
        # The room is warm from the round before.
        for _ in mixed([stem(part, frames, True) for part in performance.parts], where, room):
            pass
    with to.open("wb") as file:
        for block in mixed(stems, where, room):
            file.write(block.tobytes())


def raw_blocks(path: Path) -> Iterator[Stereo]:
    """Raw samples of a file, block after block."""
    with path.open("rb") as file:
        while data := file.read(BLOCK * 8):
            yield np.frombuffer(data, dtype=np.float32).reshape(-1, 2)


@dataclass(frozen=True)
class Mastered:
    """The mastering of a mix: the factor that brings it to its loudness, the LUFS it then has, and
    ``top``, the highest peak it may have."""

    factor: float
    limits: bool
    loudness: float
    top: float


def master(blocks: Blocks, lossy: bool = False) -> Mastered:
    """Return the mastering that brings a mix to ``TARGET``, its peaks below the ceiling.

    A ``lossy`` file's peaks come out some tenths of a dB higher than they went in.
    """
    top = ceiling() * (LOSSY if lossy else 1.0)
    meter, peaks = Meter(), []
    for block in blocks():
        meter.add(block)
        peaks.append(float(np.abs(block).max(initial=0)))
    loudness = meter.integrated()
    if math.isinf(loudness):
        return Mastered(1.0, False, loudness, top)
    factor = 10 ** ((TARGET - loudness) / 20)
    highest = max(peaks)
    if factor * highest < top * NEAR:
        return Mastered(factor, False, TARGET, top)
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
        if abs(short) < NEARLY or (short > 0 and factor >= most) or not left:
            break
        factor = min(factor * 10 ** (short / 20), most)
    return Mastered(factor, limits, reached, top)


def mastered(blocks: Iterator[Stereo], how: Mastered, frames: int | None) -> Iterator[Stereo]:
    """The mix at its loudness; of so many frames it fades over the last ``CLOSE`` (None: not)."""
    done = 0
    limited = (block for block, _ in _limited(blocks, how.factor, how.top))
    for block in limited if how.limits else _scaled(blocks, how.factor):
        if frames is not None and done + len(block) > frames - CLOSE:
            left = np.clip((frames - done - np.arange(len(block))) / CLOSE, 0, 1)
            block = block * (0.5 - 0.5 * np.cos(np.pi * left))[:, None].astype(np.float32)
        done += len(block)
        yield block


def _limited(blocks: Iterator[Stereo], factor: float, top: float) -> Iterator[tuple[Stereo, bool]]:
    """Each block times a factor, its peaks kept below the ceiling, and whether it had any."""
    before = np.zeros((BORDER, 2), dtype=np.float32)
    here: Stereo | None = None
    for after in _with_end(_joined(_scaled(blocks, factor))):
        if here is not None:
            behind = after[:BORDER] if after is not None else np.zeros((0, 2), dtype=np.float32)
            around = np.concatenate([before, here, behind])
            factors = gains(around, top)
            before = np.concatenate([before, here])[-BORDER:]
            if factors is None:
                yield here, False
            else:
                own = factors[BORDER : BORDER + len(here)]
                yield here * own[:, None].astype(np.float32), True
        here = after


def _scaled(blocks: Iterator[Stereo], factor: float) -> Iterator[Stereo]:
    for block in blocks:
        yield block * np.float32(factor)


def _joined(blocks: Iterator[Stereo]) -> Iterator[Stereo]:
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
