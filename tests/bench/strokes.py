"""Drum strokes in figures: ``python tests/bench/strokes.py``.

For each stroke of the tabla: dB above 2 kHz in the first 15 ms, and the centroid, at velocity 50
and 127; the share that a small loudspeaker plays; the milliseconds that rendering takes. For each
hit of the kit: the seconds in which it falls 30 dB. Then the neighbours that are alike in a piece.
"""

from __future__ import annotations

import sys
import time
from itertools import pairwise
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from support.hearing_drums import centroid, falls, onset_db, small_db
from support.making import ROOT, load_text

from cyclechart.arrange.arranger import arrange
from cyclechart.sound.drum_models import SOUNDS
from cyclechart.sound.hand_drums import stroke
from cyclechart.sound.kit_drums import HITS, hit
from cyclechart.write.audio.performance import performance_of

SA = 293.66
SOFT, HARD = 50, 127


def strokes() -> None:
    """Print the strokes of the tabla."""
    print("tabla  onset > 2 kHz, dB   centroid, Hz   hard/soft   small, dB    ms")
    for sound in SOUNDS:
        soft, hard = stroke("tabla", sound, SOFT, SA), stroke("tabla", sound, HARD, SA)
        start = time.process_time()
        middle = stroke("tabla", sound, 97, SA, 1)
        spent = (time.process_time() - start) * 1000
        bright = centroid(soft), centroid(hard)
        print(
            f"{sound:5}  {onset_db(soft):6.1f} {onset_db(hard):6.1f}      {bright[0]:6.0f}"
            f" {bright[1]:6.0f}   {bright[1] / bright[0]:6.2f}   {small_db(middle):8.1f}"
            f"  {spent:6.1f}"
        )


def hits() -> None:
    """Print the hits of the kit."""
    print("key   falls 30 dB in s   centroid, Hz    ms")
    for key in HITS:
        start = time.process_time()
        wave = hit(key, 100)
        spent = (time.process_time() - start) * 1000
        print(f"{key:3}   {falls(wave, 30):8.2f}      {centroid(wave):8.0f}    {spent:6.1f}")


def neighbours(name: str) -> None:
    """Print how many neighbours of one sound in a piece are the same variant."""
    piece = load_text((ROOT / "pieces" / f"{name}.yaml").read_text(), ROOT / "pieces").piece
    assert piece is not None
    for plain in (False, True):
        alike = total = 0
        for part in performance_of(arrange(piece), plain=plain).parts:
            for sound in {one.sound for one in part.strokes}:
                own = [one for one in part.strokes if one.sound == sound]
                total += max(len(own) - 1, 0)
                alike += sum(
                    (one.velocity, one.variant) == (other.velocity, other.variant)
                    for one, other in pairwise(own)
                )
        print(f"{name}{', plain' * plain}: {alike} of {total} neighbours are alike")


if __name__ == "__main__":
    strokes()
    hits()
    neighbours("two-tides")
