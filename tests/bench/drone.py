"""The drone's figures: ``PYTHONPATH=. python tests/bench/drone.py``.

Energies and centres are of windowed spectra; beats are of the envelopes of two strings together;
LUFS are of ITU-R BS.1770. The published shape is a weak fundamental under a bright band that falls
slowly (van Walstijn and others, ISMA 2014, DAFx-16 and DAFx-17).
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

sys.path.insert(0, str(Path(__file__).parents[1]))

from support.drone_figures import (
    band_centre,
    beat_hz,
    cents_off,
    first_partial_share,
    loudness,
    played,
    strings_of_round,
)

from cyclechart.sound.rate import RATE
from cyclechart.sound.strings import pluck, tuned_string_hz

PITCHES = (60.0, 73.42, 110.0, 146.83, 196.0, 250.0)
VELOCITIES = (20, 58, 90, 127)
PHONE_HZ = 450
"""A stand-in for the loudspeaker of a phone: a high-pass of fourth order."""


def shares() -> Iterator[str]:
    """Yield the share of partial 1 and the centre of the spectrum, by pitch and velocity."""
    yield "partial 1 in % of the energy: five seconds, then from 0, 0.5, 1, 2, 3, 4 s; centre in Hz"
    for hz in PITCHES:
        for velocity in VELOCITIES:
            wave = pluck(hz, 5 * RATE, velocity)
            cuts = [wave[int(at * RATE) :][: RATE // 2] for at in (0, 0.5, 1, 2, 3, 4)]
            parts = " ".join(f"{100 * first_partial_share(cut, hz):3.0f}" for cut in cuts)
            centres = " ".join(f"{band_centre(cut):5.0f}" for cut in cuts)
            whole = 100 * first_partial_share(wave, hz)
            peak = np.abs(wave).max()
            yield f"{hz:7.2f} Hz {velocity:4}: {whole:3.0f} | {parts} | {centres} | peak {peak:.2f}"


def tuning() -> Iterator[str]:
    """Yield the cents that strings and their sum are off, and the beats of the Sa strings."""
    sa = 146.83
    yield f"over two minutes at Sa = {sa} Hz: cents off of partials 1, 2, 3, 5"
    for string, hz in enumerate((sa * 3 / 4, sa, sa, sa / 2)):
        wave = played(tuned_string_hz(hz, string), 120, string)
        off = " ".join(f"{cents_off(wave, hz * number):+.3f}" for number in (1, 2, 3, 5))
        yield f"  string {string}: {off}"
    both = played(tuned_string_hz(sa, 1), 120, 1) + played(tuned_string_hz(sa, 2), 120, 2)
    off = " ".join(f"{cents_off(both, sa * number):+.3f}" for number in (1, 2, 3, 5))
    yield f"  both Sa: {off}"
    for hz in (65.41, 98.0, sa, 246.94):
        beats = [beat_hz(hz, number) for number in (1, 4, 10)]
        yield f"  beats of two strings of {hz} Hz: " + ", ".join(f"{one:.3f}" for one in beats)


def speed() -> Iterator[str]:
    """Yield how many times faster than real time a string is summed, in CPU time."""
    for hz in (73.42, 146.83, 220.0):
        start = time.process_time()
        for number in range(10):
            pluck(hz, 5 * RATE, 58, number * 1000)
        yield f"{hz} Hz: {50 / (time.process_time() - start):.0f} times real time"


def of_the_round() -> Iterator[str]:
    """Yield the figures of the drone's one round, with its room left out."""
    wave, strings = strings_of_round()
    yield f"one round: {len(wave) / RATE:.3f} s, peak {np.abs(wave).max():.3f}"
    loud = loudness(wave)
    filtered: NDArray[np.float64] = sosfilt(
        butter(4, PHONE_HZ, "high", fs=RATE, output="sos"), wave
    )
    yield f"{loud:.1f} LUFS; {loudness(filtered):.1f} through the {PHONE_HZ} Hz high-pass"
    step = np.abs(np.diff(np.concatenate([wave[-RATE:], wave[:RATE]])))
    most = step[: RATE - 1].max()
    yield f"step over the seam {step[RATE - 1]:.5f}, largest in the second before {most:.5f}"
    gaps = np.diff(strings) / RATE
    yield f"gaps {gaps.min():.3f} to {gaps.max():.3f} s, mean {gaps.mean():.4f}, {gaps.std():.3f}"


if __name__ == "__main__":
    for table in (shares, tuning, speed, of_the_round):
        print(*table(), sep="\n", end="\n\n")
