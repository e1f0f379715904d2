"""The melody voices beside sampled instruments: harmonics to noise, movement of partials, pitch."""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from support.voice_figures import (
    HELD,
    SAMPLED_HNR,
    SAMPLED_MOVEMENT,
    STATIC_HNR,
    STATIC_MOVEMENT,
    USUAL,
    measures,
)

from cyclechart.sound.rate import RATE
from cyclechart.sound.voice_tables import voice_names
from cyclechart.sound.voices import tone


def main() -> None:
    """Print the table."""
    print(
        f"{'voice':<12}{'HNR':>6}{'before':>8}{'sampled':>9}{'moves':>8}{'cents':>9}{'x time':>8}"
    )
    for name in voice_names():
        hz = HELD.get(name, USUAL)
        found = measures(name, hz)
        start = time.process_time()
        tone(name, hz, 2 * RATE, 80)
        speed = 2 / (time.process_time() - start)
        before, sampled = STATIC_HNR.get(name), SAMPLED_HNR.get(name)
        print(
            f"{name:<12}{found.hnr:6.1f}{before or '':>8}{sampled or '':>9}"
            f"{found.movement:8.2f}{found.cents:9.3f}{speed:8.0f}"
        )
    print(f"moves, before: {STATIC_MOVEMENT} dB; sampled: {SAMPLED_MOVEMENT[0]} to "
          f"{SAMPLED_MOVEMENT[1]} dB")  # fmt: skip


if __name__ == "__main__":
    main()
