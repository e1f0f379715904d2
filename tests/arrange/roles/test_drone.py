"""The drone: its own slow pulse in seconds, retuned where mode or tonic change."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from support.timelines import D, cycle, mode, player, random_timelines, stretch, timeline_of

from cyclechart.arrange.roles.drone import drone_part, string_pitches
from cyclechart.arrange.timeline import Stretch, Timeline
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.spelling import Tonic

TANPURA = player("tanpura", "drone")
TINTAL = cycle("tintal")


def seconds_at(timeline: Timeline, time: Fraction) -> float:
    """Return the seconds of a time of the timeline: 60/tempo in steps of a 32nd of a beat."""
    total = 0.0
    for one in timeline.stretches:
        at = one.start
        while at < min(one.end, time):
            step = min(Fraction(1, 32), min(one.end, time) - at)
            total += 60 * float(step) / float(one.tempo_at(at + step / 2))
            at += step
    return total


@pytest.mark.parametrize("tempo", [20, 37, 60, 89, 91, 120, 240, 400])
def test_four_strings_take_four_to_five_seconds_at_any_tempo(tempo: int) -> None:
    # Common practice: about four to five seconds for the four strings.
    part = drone_part(timeline_of(stretch(TINTAL, mode("yaman"), 8, tempo)), TANPURA)
    starts = [sound.start * 60 / tempo for sound in part.sounds]
    assert len(starts) >= 8
    for first, fifth in zip(starts, starts[4:], strict=False):
        assert 4 <= fifth - first <= 5
    for before, after in pairwise(starts):
        assert abs(float(after - before) - 9 / 8) < 0.13


def test_it_keeps_to_seconds_through_a_gradual_change_and_over_stretches() -> None:
    slow = stretch(TINTAL, mode("yaman"), 3, 60, to_tempo=Fraction(240))
    timeline = timeline_of(
        slow, stretch(TINTAL, mode("yaman"), 2, 240), stretch(TINTAL, mode("yaman"))
    )
    times = [seconds_at(timeline, one.start) for one in drone_part(timeline, TANPURA).sounds]
    gaps = [b - a for a, b in pairwise(times)]
    assert len(gaps) > 40
    # Steps of half a beat against the true curve, and the grid: a tenth of a second at most.
    assert all(abs(gap - 9 / 8) < 0.1 for gap in gaps), gaps
    assert abs(times[-1] - len(gaps) * 9 / 8) < 0.2


def test_it_is_retuned_on_the_spot_and_what_rings_is_let_go() -> None:
    first = stretch(TINTAL, mode("yaman"), 2)
    second = stretch(TINTAL, mode("malkauns"), 2)
    third = stretch(TINTAL, mode("malkauns"), 2, tonic=Tonic("F"))
    timeline = timeline_of(first, second, third)
    sounds = drone_part(timeline, TANPURA).sounds
    for change in (Fraction(32), Fraction(64)):
        assert any(sound.start == change and sound.voice == 0 for sound in sounds)
        assert not any(s.start < change < s.start + s.length for s in sounds)
    # P for Yaman, m for Malkauns, which has no P (common practice).
    heard = {(s.start // 32, s.pitch % 12, s.base) for s in sounds if s.voice == 0}
    assert heard == {(0, 7, None), (1, 5, None), (2, 5, Tonic("F").midi)}


def test_a_change_of_mode_that_leaves_the_strings_alone_is_not_heard() -> None:
    alike = timeline_of(stretch(TINTAL, mode("yaman"), 2), stretch(TINTAL, mode("bhimpalasi"), 2))
    same = timeline_of(stretch(TINTAL, mode("yaman"), 4))
    assert drone_part(alike, TANPURA) == drone_part(same, TANPURA)


@settings(max_examples=60, deadline=None)
@given(random_timelines())
def test_on_any_timeline_it_sounds_throughout_and_no_string_twice_at_once(
    timeline: Timeline,
) -> None:
    part = drone_part(timeline, TANPURA)
    assert part == drone_part(timeline, TANPURA)
    assert part.sounds[0].start == 0
    assert max(sound.start + sound.length for sound in part.sounds) == timeline.end
    starts = [sound.start for sound in part.sounds]
    assert starts == sorted(set(starts))
    for key in {(sound.pitch, sound.base) for sound in part.sounds}:
        own = [sound for sound in part.sounds if (sound.pitch, sound.base) == key]
        for before, after in pairwise(own):
            assert before.start + before.length <= after.start
    for sound in part.sounds:
        here: Stretch = timeline.at(sound.start)
        assert sound.pitch in string_pitches(here.mode)
        moved = here.tonic != timeline.stretches[0].tonic
        assert sound.base == (here.tonic.midi if moved else None)
        assert sound.length > 0


def test_it_sounds_through_its_own_opening() -> None:
    free = stretch(TINTAL, mode("yaman"), 2, 60, D, kind="free", soloist="tanpura")
    assert drone_part(timeline_of(free), TANPURA).sounds


@pytest.mark.parametrize("octave", [-1, 0, 1])
def test_a_player_of_another_octave_plays_all_four_strings_there(octave: int) -> None:
    # Pa, Sa, Sa and the low Sa (common practice), an octave of the player's up or down.
    there = replace(TANPURA, octave=octave)
    part = drone_part(timeline_of(stretch(TINTAL, mode("yaman"), 4)), there)
    strings = [-5 - 12, -12, -12, -24]
    assert [sound.pitch for sound in part.sounds[:4]] == [one + 12 * octave for one in strings]
    assert [sound.voice for sound in part.sounds[:4]] == [0, 1, 2, 3]


@pytest.mark.parametrize(
    ("beats", "plucks"),
    [(Fraction(8), 7), (Fraction(67, 8), 7), (Fraction(135, 16), 8), (Fraction(9), 8)],
)
def test_a_last_pluck_needs_half_a_gap_to_ring(beats: Fraction, plucks: int) -> None:
    """At 60 beats a minute a string sounds every 1 1/8 beats; the eighth begins at 7 7/8.

    It would ring for 1/8, 1/2, 9/16 and 1 1/8 of a beat: 9/16 is half of 1 1/8.
    """
    one = Cycle(name="one", beats=beats, sections=(beats,), stressed=(Fraction(1),))
    part = drone_part(timeline_of(stretch(one, mode("yaman"), 1, 60)), TANPURA)
    assert [sound.start for sound in part.sounds] == [Fraction(9 * n, 8) for n in range(plucks)]
    assert part.sounds[-1].start + part.sounds[-1].length == beats
