"""The hand of a drone's player: beside an even pulse, in exact fractions, never drifting."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from statistics import mean, pstdev

import pytest
from hypothesis import given, settings
from support.making import piece_of
from support.timelines import cycle, mode, player, random_timelines, stretch, timeline_of

from cyclechart.arrange.arranger import Arrangement
from cyclechart.arrange.roles.drone import PLUCK_SECONDS, SOFT, drone_part
from cyclechart.arrange.roles.drone_plucks import MOST_SECONDS, MOST_VELOCITY, varied_plucks
from cyclechart.arrange.timeline import Timeline
from cyclechart.theory.spelling import Tonic

TANPURA = player("tanpura", "drone")
TINTAL = cycle("tintal")
BAND = 'players: {flute: , tanpura: }\nlines:\n  a: {sargam: "S - G - P - S\' -"}\n'


@pytest.mark.parametrize("tempo", [20, 60, 92, 240])
def test_plucks_are_beside_an_even_pulse_and_never_drift(tempo: int) -> None:
    timeline = timeline_of(stretch(TINTAL, mode("yaman"), tempo * 2, tempo))
    even = drone_part(timeline, TANPURA)
    played = varied_plucks(even, timeline)
    late = [
        float((after.start - before.start) * 60 / tempo)
        for before, after in zip(even.sounds, played.sounds, strict=True)
    ]
    assert len(late) > 200
    # A grid of the 128th of a second, or of the 256th of a slow beat.
    grid = max(1 / 128, 60 / tempo / 256)
    assert max(map(abs, late)) <= MOST_SECONDS + grid
    assert 0.015 < pstdev(late) < 0.045
    assert abs(mean(late)) < 0.01
    half = len(late) // 2
    assert abs(mean(late[:half]) - mean(late[half:])) < 0.015
    seconds = float((played.sounds[-1].start - played.sounds[0].start) * 60 / tempo)
    assert abs(seconds / (len(late) - 1) - PLUCK_SECONDS) < 0.001
    velocities = [sound.velocity for sound in played.sounds]
    assert max(abs(one - SOFT) for one in velocities) <= MOST_VELOCITY
    assert len(set(velocities)) > 9 and abs(mean(velocities) - SOFT) < 1
    # Neighbours that are alike by chance differ by the string's touch.
    alike = [one == two for one, two in pairwise(zip(late, velocities, strict=True))]
    assert mean(alike) < 0.03


@settings(max_examples=60, deadline=None)
@given(random_timelines())
def test_on_any_timeline_strings_still_sound_one_at_a_time(timeline: Timeline) -> None:
    even = drone_part(timeline, TANPURA)
    part = varied_plucks(even, timeline)
    assert part == varied_plucks(even, timeline)
    assert part.sounds[0].start == 0
    assert max(sound.start + sound.length for sound in part.sounds) == timeline.end
    starts = [sound.start for sound in part.sounds]
    assert starts == sorted(set(starts))
    for sound in part.sounds:
        assert sound.length > 0 and isinstance(sound.start, Fraction)
    for key in {(sound.pitch, sound.base) for sound in part.sounds}:
        own = [sound for sound in part.sounds if (sound.pitch, sound.base) == key]
        for before, after in pairwise(own):
            assert before.start + before.length <= after.start
    # Every string rings until the pluck that ended it before, or as long as before.
    for before, after in zip(even.sounds, part.sounds, strict=True):
        assert replace(after, start=before.start, length=before.length, velocity=SOFT) == before


def test_strings_that_are_tuned_anew_start_on_the_spot() -> None:
    timeline = timeline_of(
        stretch(TINTAL, mode("yaman"), 2),
        stretch(TINTAL, mode("malkauns"), 2),
        stretch(TINTAL, mode("malkauns"), 2, tonic=Tonic("F")),
    )
    sounds = varied_plucks(drone_part(timeline, TANPURA), timeline).sounds
    for change in (Fraction(32), Fraction(64)):
        assert any(sound.start == change and sound.voice == 0 for sound in sounds)
        assert not any(one.start < change < one.start + one.length for one in sounds)


def test_a_plain_arrangement_is_even_and_another_drone_too() -> None:
    piece = piece_of(BAND, mode="yaman", tempo="60")

    def gaps(arrangement: Arrangement) -> set[Fraction]:
        part = next(part for part in arrangement.score.parts if part.role.is_drone)
        assert len(part.sounds) > 3
        return {after.start - before.start for before, after in pairwise(part.sounds)}

    assert gaps(Arrangement(piece, plain=True)) == {PLUCK_SECONDS}
    assert len(gaps(Arrangement(piece))) > 1
    box = piece_of(BAND.replace("tanpura", "shruti-box"), mode="yaman", tempo="60")
    assert gaps(Arrangement(box)) == {PLUCK_SECONDS}
