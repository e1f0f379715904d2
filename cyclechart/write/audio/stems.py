"""The sound of each player as a mono waveform, block after block."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterator

import numpy as np

from cyclechart.sound import hand_drums as drums
from cyclechart.sound import kit_drums as kit
from cyclechart.sound import strings, voices
from cyclechart.sound.rate import RATE, Wave
from cyclechart.write.audio.performance import PartEvents, Stroke, Tone

BLOCK = 1 << 18
"""Frames of a block: six seconds."""
MOST_CACHED = 48 << 20
"""Bytes of waves that are kept in memory, as the same note comes again."""
DAMPING = RATE // 40
"""A drone's string is damped by the finger that plucks it again, in 25 ms."""


def stem(part: PartEvents, frames: int, seamless: bool = False) -> Iterator[Wave]:
    """The first frames of a part in blocks of ``BLOCK``, the last one shorter.

    What rings beyond the end is cut; with ``seamless`` it sounds at the beginning instead.
    """
    waves = _Waves(part)
    events: list[Tone | Stroke] = [*part.tones, *part.strokes]
    events.sort(key=lambda one: one.start)
    rest: list[tuple[int, Wave]] = []
    """The waves that ring on: from which frame, and the rest of each."""
    if seamless:
        rest = [(0, wave) for wave in _rings_over_end(waves, events, frames)]
    at = 0
    for begin in range(0, frames, BLOCK):
        end = min(begin + BLOCK, frames)
        block = np.zeros(end - begin, dtype=np.float32)
        while at < len(events) and events[at].start < end:
            rest.append((events[at].start, waves.wave(events[at])))
            at += 1
        later = []
        for start, wave in rest:
            here = wave[: end - start]
            block[start - begin : start - begin + len(here)] += here
            if len(wave) > len(here):
                later.append((end, wave[len(here) :]))
        rest = later
        yield block


def _rings_over_end(waves: _Waves, events: list[Tone | Stroke], frames: int) -> Iterator[Wave]:
    """The waves that ring over the end, from there on."""
    for event in events:
        wave = waves.wave(event)
        if event.start < frames < event.start + len(wave):
            yield wave[frames - event.start :]


class _Waves:
    """The waveform of each event of a part; events that are alike share one."""

    def __init__(self, part: PartEvents) -> None:
        self.part = part
        self.cached: OrderedDict[object, Wave] = OrderedDict()
        self.bytes = 0

    def wave(self, event: Tone | Stroke) -> Wave:
        if isinstance(event, Stroke):
            return self._once(
                (event.sound, event.velocity), lambda: self._struck(event.sound, event.velocity)
            )
        if self.part.plucked:
            # Each pluck has the phases of its own place, so that the string stays one tone.
            wave = strings.pluck(
                strings.string_hz(event.hz), event.frames + DAMPING, event.velocity, event.start
            )
            wave[-DAMPING:] *= np.linspace(1, 0, DAMPING, dtype=np.float32)
            return wave
        key = event.hz, event.frames, event.velocity, event.curve
        return self._once(key, lambda: voices.tone(self.part.voice, *key))

    def _struck(self, sound: str | int, velocity: int) -> Wave:
        if isinstance(sound, str):
            return drums.stroke(self.part.voice, sound, velocity, self.part.hz)
        return kit.hit(sound, velocity)

    def _once(self, key: object, make: Callable[[], Wave]) -> Wave:
        """Return the wave of a key, made before or now."""
        wave = self.cached.pop(key, None)
        if wave is None:
            wave = make()
            self.bytes += wave.nbytes
        self.cached[key] = wave
        while self.bytes > MOST_CACHED and len(self.cached) > 1:
            self.bytes -= self.cached.popitem(last=False)[1].nbytes
        return wave
