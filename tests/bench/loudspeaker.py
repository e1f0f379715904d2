"""What is left of each player on a phone: loudness through a high-pass of 450 Hz, both balances.

``python tests/bench/loudspeaker.py [PIECE] [--seconds 60]``. The fourth-order Butterworth high-pass
stands in for a phone's loudspeaker (our choice); the loudness is pyloudnorm's (ITU-R BS.1770), of
each player alone in the mix as it is brought to -16 LUFS.
"""

from __future__ import annotations

import argparse
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pyloudnorm
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

from cyclechart.arrange.arranger import arrange
from cyclechart.piece.load import load
from cyclechart.sound.rate import RATE
from cyclechart.write.audio.mixdown import (
    mastering_of,
    part_gains,
    raw_blocks,
    write_raw_mix,
)
from cyclechart.write.audio.performance import Performance, performance_of
from cyclechart.write.audio.sound_options import BALANCES, Balance, SoundOptions

PIECE = Path(__file__).parents[2] / "pieces" / "two-tides.yaml"
PHONE = butter(4, 450, "highpass", fs=RATE, output="sos")

Levels = dict[str, tuple[float, float]]
"""LUFS of each player: all of it, and through the high-pass."""


def cut(performance: Performance, seconds: float) -> Performance:
    """Return the beginning of a performance."""
    frames = min(performance.frames, round(seconds * RATE))
    parts = (
        replace(
            part,
            tones=tuple(tone for tone in part.tones if tone.start < frames),
            strokes=tuple(stroke for stroke in part.strokes if stroke.start < frames),
        )
        for part in performance.parts
    )
    return replace(performance, parts=tuple(parts), frames=frames)


def lufs(sound: NDArray[np.float64]) -> float:
    return float(pyloudnorm.Meter(RATE, filter_class="DeMan").integrated_loudness(sound))


def levels(performance: Performance, balance: Balance, folder: Path) -> Levels:
    """Return the loudness of each player, and of all under ``band``."""
    options = SoundOptions(balance=balance)
    gains = part_gains(performance.parts, options)
    raw = folder / "raw"
    write_raw_mix(performance, gains, raw, options=options)
    factor = mastering_of(lambda: raw_blocks(raw)).factor
    found = {}
    alone = [replace(performance, parts=(part,)) for part in performance.parts]
    named = zip(
        ["band", *(part.name for part in performance.parts)],
        [performance, *alone],
        [gains, *([gain] for gain in gains)],
        strict=True,
    )
    for name, heard, own in named:
        write_raw_mix(heard, own, raw, options=options)
        sound = factor * np.concatenate(list(raw_blocks(raw))).astype(float)
        if sound.any():
            found[name] = lufs(sound), lufs(sosfilt(PHONE, sound, axis=0))
    return found


def table(piece: Path, seconds: float) -> str:
    """Return the table of a piece as text."""
    read = load(piece).piece
    assert read is not None
    performance = cut(performance_of(arrange(read)), seconds)
    with tempfile.TemporaryDirectory() as name:
        both = {balance: levels(performance, balance, Path(name)) for balance in BALANCES}
    lines = [f"{'LUFS: all, through 450 Hz':<28}" + "".join(f"{name:>20}" for name in both)]
    for player in both["headphones"]:
        each = (both[balance][player] for balance in both)
        lines.append(f"{player:<28}" + "".join(f"{a:>11.1f} {b:>8.1f}" for a, b in each))
    return "\n".join(lines)


if __name__ == "__main__":
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("piece", nargs="?", type=Path, default=PIECE)
    options.add_argument("--seconds", type=float, default=60.0)
    asked = options.parse_args()
    print(table(asked.piece, asked.seconds))
