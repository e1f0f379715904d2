"""The sound of each player as a mono waveform, block after block."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterator

import numpy as np

from cyclechart.sound import hand_drums as drums
from cyclechart.sound import kit_drums as kit
from cyclechart.sound import strings, voices
from cyclechart.sound.rate import RATE, Wave
from cyclechart.sound.soundfont_file import SoundFont
from cyclechart.write.audio.drone_strings import ringing_strings
from cyclechart.write.audio.font_voices import FontVoice, font_voice
from cyclechart.write.audio.performance import PartEvents, Stroke, Tone

BLOCK = 1 << 18
"""Frames of a block: six seconds."""
MOST_CACHED = 48 << 20
"""Bytes of waves that stay in memory, for notes that are played again."""
DAMPING = RATE // 40
"""Frames (25 ms) in which the finger that plucks a drone's string again damps it."""


def stem(
    part: PartEvents, frames: int, seamless: bool = False, font: SoundFont | None = None
) -> Iterator[Wave]:
    """Yield the first ``frames`` of a part in mono blocks of ``BLOCK``, the last one shorter.

    Sounds that ring beyond the end are cut; with ``seamless`` they sound on at the beginning.
    ``font``: what players of lines, bass and kit sound from.
    """
    waves = _Waves(part, font_voice(part, font), frames if seamless else None)
    tones = ringing_strings(part.tones) if part.plucked else part.tones
    events: list[Tone | Stroke] = [*tones, *part.strokes]
    events.sort(key=lambda event: event.start)
    ringing: list[tuple[int, Wave]] = []
    """The waves that ring on: the frame of the rest of each, and the rest."""
    if seamless:
        ringing = [(0, wave) for wave in _rings_over_end(waves, events, frames)]
    at = 0
    for begin in range(0, frames, BLOCK):
        end = min(begin + BLOCK, frames)
        block = np.zeros(end - begin, dtype=np.float32)
        while at < len(events) and events[at].start < end:
            ringing.append((events[at].start, waves.wave(events[at])))
            at += 1
        later = []
        for start, wave in ringing:
            here = wave[: end - start]
            block[start - begin : start - begin + len(here)] += here
            if len(wave) > len(here):
                later.append((end, wave[len(here) :]))
        ringing = later
        yield block


def _rings_over_end(waves: _Waves, events: list[Tone | Stroke], frames: int) -> Iterator[Wave]:
    """Yield the part after the end of each wave that rings over it."""
    for event in events:
        wave = waves.wave(event)
        if event.start < frames < event.start + len(wave):
            yield wave[frames - event.start :]


class _Waves:
    """The waveform of each event of a part; events that are alike share one.

    ``loop``: the frames in which the part comes round without a seam; None where it does not.
    """

    def __init__(self, part: PartEvents, font: FontVoice | None, loop: int | None = None) -> None:
        self.part = part
        self.loop = loop
        self.font = font
        self.cached: OrderedDict[object, Wave] = OrderedDict()
        self.bytes = 0

    def wave(self, event: Tone | Stroke) -> Wave:
        if self.font is not None:
            return self._from_font(self.font, event)
        if isinstance(event, Stroke):
            return self._cached(
                (event.sound, event.velocity), lambda: self._drum_sound(event.sound, event.velocity)
            )
        if self.part.plucked:
            # The phases of a pluck depend on its frame, so that all plucks make one steady tone.
            hz = strings.tuned_string_hz(strings.string_hz(event.hz), event.string, self.loop)
            wave = strings.pluck(hz, event.frames + DAMPING, event.velocity, event.start)
            wave[-DAMPING:] *= np.linspace(1, 0, DAMPING, dtype=np.float32)
            return wave
        key = event.hz, event.frames, event.velocity, event.curve
        return self._cached(key, lambda: voices.tone(self.part.voice, *key))

    def _from_font(self, font: FontVoice, event: Tone | Stroke) -> Wave:
        if isinstance(event, Tone):
            tone = event.hz, event.frames, event.velocity, event.curve, event.joined
            return self._cached(tone, lambda: font.tone(*tone))
        hit = int(event.sound), event.velocity
        return self._cached(hit, lambda: font.hit(*hit))

    def _drum_sound(self, sound: str | int, velocity: int) -> Wave:
        if isinstance(sound, str):
            return drums.stroke(self.part.voice, sound, velocity, self.part.hz)
        return kit.hit(sound, velocity)

    def _cached(self, key: object, make: Callable[[], Wave]) -> Wave:
        """Return the wave of a key, from the cache or computed now."""
        wave = self.cached.pop(key, None)
        if wave is None:
            wave = make()
            self.bytes += wave.nbytes
        self.cached[key] = wave
        while self.bytes > MOST_CACHED and len(self.cached) > 1:
            self.bytes -= self.cached.popitem(last=False)[1].nbytes
        return wave
