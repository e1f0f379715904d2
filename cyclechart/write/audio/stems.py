"""The sound of each player as a mono waveform, block after block."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterator
from typing import TypeAlias

import numpy as np

from cyclechart.sound import hand_drums as drums
from cyclechart.sound import kit_drums as kit
from cyclechart.sound import strings, voices
from cyclechart.sound.rate import RATE, Wave
from cyclechart.sound.resonance import velocity_gain
from cyclechart.sound.soundfont_file import SoundFont
from cyclechart.write.audio.choked import choked, rings_until
from cyclechart.write.audio.drone_strings import ringing_strings
from cyclechart.write.audio.font_voices import FontVoice, font_voice
from cyclechart.write.audio.performance import PartEvents, Stroke, Tone
from cyclechart.write.audio.phrases import Phrase, phrases

Event: TypeAlias = Phrase | Tone | Stroke
"""What sounds: a phrase of a melody voice, a tone of a font or of a drone's string, a stroke."""

BLOCK = 1 << 18
"""Frames of a block: six seconds."""
MOST_CACHED = 48 << 20
"""Bytes of waves that stay in memory, for notes that are played again."""
FORCES = 6
"""Velocities from one rendering of a stroke to the next: between them the level alone differs."""
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
    events = _events(waves, part, frames if seamless else None)
    ringing: list[tuple[int, Wave]] = []
    """The waves that ring on: the frame of the rest of each, and the rest."""
    if seamless:
        ringing = [(0, wave) for wave in _rings_over_end(waves, events, frames)]
    at = 0
    for begin in range(0, frames, BLOCK):
        end = min(begin + BLOCK, frames)
        block = np.zeros(end - begin, dtype=np.float32)
        while at < len(events) and events[at][0].start < end:
            ringing.append((events[at][0].start, waves.rung(*events[at])))
            at += 1
        later = []
        for start, wave in ringing:
            here = wave[: end - start]
            block[start - begin : start - begin + len(here)] += here
            if len(wave) > len(here):
                later.append((end, wave[len(here) :]))
        ringing = later
        yield block


def _pitched(waves: _Waves, part: PartEvents) -> list[Event]:
    if waves.font is not None:
        return list(part.tones)
    return list(ringing_strings(part.tones) if part.plucked else phrases(part.tones))


def _events(
    waves: _Waves, part: PartEvents, round_of: int | None
) -> list[tuple[Event, int | None]]:
    """Return the sounds of a part in the order of time, each with the frame that ends its ringing.

    ``round_of``: the frames after which they begin again.
    """
    strokes = sorted(part.strokes, key=lambda stroke: stroke.start)
    events: list[tuple[Event, int | None]] = [(tone, None) for tone in _pitched(waves, part)]
    events += zip(strokes, rings_until(strokes, round_of), strict=True)
    return sorted(events, key=lambda event: event[0].start)


def _rings_over_end(
    waves: _Waves, events: list[tuple[Event, int | None]], frames: int
) -> Iterator[Wave]:
    """Yield the part after the end of each wave that rings over it."""
    for event, until in events:
        wave = waves.rung(event, until)
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

    def rung(self, event: Event, until: int | None) -> Wave:
        """Return the wave of an event whose ringing is ended at a frame, if at any."""
        wave = self.wave(event)
        return wave if until is None else choked(wave, until - event.start)

    def wave(self, event: Event) -> Wave:
        """Return the wave of an event."""
        if self.font is not None:
            assert not isinstance(event, Phrase)
            return self._from_font(self.font, event)
        if isinstance(event, Stroke):
            return self._drum_wave(event)
        if isinstance(event, Tone):
            # The phases of a pluck depend on its frame, so that all plucks make one steady tone.
            hz = strings.tuned_string_hz(strings.string_hz(event.hz), event.string, self.loop)
            wave = strings.pluck(hz, event.frames + DAMPING, event.velocity, event.start)
            wave[-DAMPING:] *= np.linspace(1, 0, DAMPING, dtype=np.float32)
            return wave
        return self._cached(
            (event.tones, event.frames, event.take),
            lambda: voices.phrase(self.part.voice, event.tones, event.frames, take=event.take),
        )

    def _from_font(self, font: FontVoice, event: Tone | Stroke) -> Wave:
        if isinstance(event, Tone):
            tone = event.hz, event.frames, event.velocity, event.curve, event.joined
            return self._cached(tone, lambda: font.tone(*tone))
        hit = int(event.sound), event.velocity
        return self._cached(hit, lambda: font.hit(*hit))

    def _drum_wave(self, stroke: Stroke) -> Wave:
        """Return a stroke: one of nearly the same force is rendered, and brought to its level."""
        velocity = min(127, max(1, FORCES * round(stroke.velocity / FORCES)))
        key = stroke.sound, velocity, stroke.variant
        wave = self._cached(key, lambda: self._drum_sound(*key))
        if velocity == stroke.velocity:
            return wave
        return wave * np.float32(velocity_gain(stroke.velocity) / velocity_gain(velocity))

    def _drum_sound(self, sound: str | int, velocity: int, variant: int) -> Wave:
        if isinstance(sound, str):
            return drums.stroke(self.part.voice, sound, velocity, self.part.hz, variant)
        return kit.hit(sound, velocity, variant)

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
