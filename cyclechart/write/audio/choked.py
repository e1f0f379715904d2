"""How long each stroke rings before another stroke of the same player ends it."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

import numpy as np

from cyclechart.sound.choking import CHOKES, CHOKING
from cyclechart.sound.rate import Wave
from cyclechart.write.audio.performance import Stroke


def rings_until(strokes: Sequence[Stroke], round_of: int | None = None) -> list[int | None]:
    """Return the frame at which the ringing of each stroke is ended: None if it rings on.

    ``strokes`` are in the order of time. ``round_of``: the frames after which they begin again.
    """
    ends: dict[str | int, int] = {}
    """The start of the next stroke that ends the ringing of a sound."""
    if round_of is not None:
        for stroke in strokes:
            for sound in CHOKES.get(stroke.sound, ()):
                ends.setdefault(sound, stroke.start + round_of)
    until: list[int | None] = []
    # From the end: what is struck at one time does not end what is struck with it.
    for _, together in groupby(reversed(strokes), key=lambda stroke: stroke.start):
        chord = list(together)
        until += [ends.get(stroke.sound) for stroke in chord]
        for stroke in chord:
            ends |= dict.fromkeys(CHOKES.get(stroke.sound, ()), stroke.start)
    return until[::-1]


def choked(wave: Wave, frames: int) -> Wave:
    """Return a wave that is ended after so many frames."""
    if len(wave) <= frames:
        return wave
    short = wave[: frames + CHOKING].copy()
    fall = np.linspace(1, 0, CHOKING + 1, dtype=np.float32)[1:]
    short[frames:] *= fall[: len(short) - frames]
    return short
