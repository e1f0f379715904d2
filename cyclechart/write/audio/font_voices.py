"""Which players sound from a sound font, and as loud as our own voice of theirs would."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from cyclechart.sound import kit_drums, voices
from cyclechart.sound.font_player import FontPreset
from cyclechart.sound.loudness import Meter
from cyclechart.sound.rate import RATE, Wave
from cyclechart.sound.soundfont_file import DRUMS, SoundFont
from cyclechart.write.audio.performance import KIT, PartEvents

VELOCITY = 90
"""The usual velocity, at which the loudness is measured."""
LOW_KEYS, KEYS = (33, 38, 43), (57, 64, 71)
"""The keys at which that of a bass is measured, and that of anybody else."""
KIT_KEYS = (kit_drums.KICK, kit_drums.SNARE, kit_drums.HAT, kit_drums.RIDE)
MOST_GAIN = 40.0
"""dB: what is softer still is taken for silence."""


class FontVoice(NamedTuple):
    """A player's preset, and the factor that makes it as loud as our own voice."""

    preset: FontPreset
    gain: float

    def tone(
        self,
        hz: float,
        frames: int,
        velocity: int,
        curve: tuple[tuple[int, float], ...],
        joined: bool,
    ) -> Wave:
        """Return a tone, as ``voices.tone`` does."""
        return self.preset.tone(hz, frames, velocity, curve, joined) * np.float32(self.gain)

    def hit(self, key: int, velocity: int) -> Wave:
        """Return a hit of the kit, as ``kit_drums.hit`` does."""
        return self.preset.hit(key, velocity) * np.float32(self.gain)


def preset_of(part: PartEvents) -> tuple[int, int] | None:
    """Return the bank and program that a player has in General MIDI.

    None for drones, hand drums and the count, which no font has in tune or at all.
    """
    if part.voice == KIT:
        return DRUMS, 0
    if part.role.is_drone or part.program is None or not part.tones:
        return None
    return 0, part.program


def font_voice(part: PartEvents, font: SoundFont | None) -> FontVoice | None:
    """Return the voice that a player has in a font; None for one that keeps our own."""
    wanted = preset_of(part)
    if font is None or wanted is None or wanted not in font.presets:
        return None
    return _matched(font, *wanted, part.voice, part.role.plays_roots)


def without_preset(parts: Iterable[PartEvents], font: SoundFont) -> list[str]:
    """Return a sentence for each player who would sound from the font and is not in it."""
    sentences = []
    for part in parts:
        wanted = preset_of(part)
        if wanted is not None and font_voice(part, font) is None:
            bank, program = wanted
            what = "drum kit" if bank == DRUMS else f"program {program + 1}"
            sentences.append(f"{font.path.name} has no {what}: {part.name} keeps our own voice")
    return sentences


@lru_cache(maxsize=32)
def _matched(font: SoundFont, bank: int, program: int, voice: str, low: bool) -> FontVoice | None:
    """Return a preset as loud as one of our voices; None for a silent one."""
    preset = FontPreset(font.path, font.digest, bank, program)
    if bank == DRUMS:
        ours = _loudness(kit_drums.hit, KIT_KEYS)
        theirs = _loudness(preset.hit, KIT_KEYS)
    else:
        keys = LOW_KEYS if low else KEYS
        ours = _loudness(lambda key, velocity: voices.tone(voice, _hz(key), RATE, velocity), keys)
        theirs = _loudness(lambda key, velocity: preset.tone(_hz(key), RATE, velocity), keys)
    decibels = ours - theirs
    return FontVoice(preset, 10 ** (decibels / 20)) if decibels < MOST_GAIN else None


def _hz(key: int) -> float:
    return float(440 * 2 ** ((key - 69) / 12))


def _loudness(sound: Callable[[int, int], Wave], keys: tuple[int, ...]) -> float:
    """Return the loudness of some keys, a second each, one after another."""
    meter = Meter()
    for key in keys:
        second = np.zeros((RATE, 2), dtype=np.float32)
        wave = sound(key, VELOCITY)[:RATE]
        second[: len(wave)] = wave[:, None]
        meter.add(second)
    loudness = meter.integrated()
    return loudness if math.isfinite(loudness) else -200.0
