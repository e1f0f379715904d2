"""The strings of a drone in sound: both of Sa ring together, and a round of them has no seam."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from support.drone_figures import Samples, cents_off, round_of_drone, strings_of_round
from support.making import piece_of

from cyclechart.arrange.arranger import arrange
from cyclechart.sound.rate import RATE
from cyclechart.write.audio.drone_strings import ringing_strings
from cyclechart.write.audio.performance import PartEvents, Tone, performance_of
from cyclechart.write.audio.stems import stem

SA = 440 * 2 ** ((62 - 69) / 12) / 2
"""The string of Sa an octave below D above middle C (MIDI 1.0: key 62; A4 = 440, ISO 16)."""
MOVED = """\
players: {flute: , tanpura: }
lines:
  a: {sargam: "S - - - G - - - P -"}
form:
  - {play: a, times: 2}
  - {play: a, times: 2, tonic: F}
"""


def drone_of(text: str) -> PartEvents:
    piece = piece_of(text, mode="yaman", tempo="60")
    return next(p for p in performance_of(arrange(piece)).parts if p.role.is_drone)


def test_each_string_rings_until_it_is_plucked_itself() -> None:
    part = drone_of(MOVED)
    assert len({tone.hz for tone in part.tones}) == 6  # three pitches on each Sa
    first = part.tones[0].hz
    moved = next(tone.start for tone in part.tones if not tone.string and tone.hz != first)
    ringing = ringing_strings(part.tones)
    assert [tone.start for tone in ringing] == [tone.start for tone in part.tones]
    for number in range(4):
        own = [tone for tone in ringing if tone.string == number]
        for before, after in pairwise(own):
            end = before.start + before.frames
            # Where the strings are tuned anew, all that ring are let go.
            let_go = moved if before.start < moved <= after.start else after.start
            assert end == let_go, number
    both = [tone for tone in ringing if tone.string in (1, 2)]
    assert any(
        before.start + before.frames > after.start + 2 * RATE for before, after in pairwise(both)
    )


def test_a_string_that_only_one_sounds_is_left_alone() -> None:
    tones = (
        Tone(0, 100, 110.0, 58, string=0), Tone(50, 60, 146.0, 58, string=1),
        Tone(100, 80, 110.0, 58, string=0), Tone(300, 80, 110.0, 58, string=0),
    )  # fmt: skip
    assert ringing_strings(tones) == tones


@pytest.fixture(scope="module")
def looped() -> tuple[Samples, list[int]]:
    return strings_of_round()


def test_a_round_has_no_seam(looped: tuple[Samples, list[int]]) -> None:
    wave, plucks = looped
    assert len(wave) == 90 * RATE and plucks[0] == 0 and len(plucks) == 80
    assert np.abs(wave).max() < 1
    # No step and no bend is larger over the seam than in the 20 ms about it.
    twice = np.concatenate([wave[-RATE // 50 :], wave[: RATE // 50]])
    for order in (1, 2, 3):
        steps = np.abs(np.diff(twice, order))
        over = slice(RATE // 50 - order, RATE // 50)
        assert steps[over].max() < np.delete(steps, np.arange(len(steps))[over]).max()
    # Level about the seam as about any pluck of that string.
    around = [
        np.sqrt(np.mean(np.take(wave, np.arange(at - RATE // 5, at + RATE // 5), mode="wrap") ** 2))
        for at in plucks[::4]
    ]
    level = 20 * np.log10(np.array(around))
    assert abs(level[0] - np.median(level)) < 2 * max(level.std(), 0.5)


def test_three_rounds_are_as_well_in_tune_as_one(looped: tuple[Samples, list[int]]) -> None:
    # A seam out of phase would part the lines of the strings.
    wave, _ = looped
    long = np.concatenate([wave] * 2)
    for hz in (SA, SA / 2, SA * 3 / 4):
        for number in (1, 2, 3, 5):
            assert abs(cents_off(long, hz * number)) < 0.5, (hz, number)


def test_twice_the_same_bytes() -> None:
    part, frames = round_of_drone()
    one, two = (b"".join(w.tobytes() for w in stem(part, frames, True)) for _ in range(2))
    assert one == two
