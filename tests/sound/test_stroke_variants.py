"""The hand in a stroke: contact by force, variants that differ a little, cymbals that ring.

Outside: sampled bongos and congas have -15 to -19 dB of their onset above 2 kHz, a sampled open
hi-hat falls 30 dB in 1.23 s and a crash in 1.59 (two free sound fonts; measured).
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from support.hearing_drums import centroid, energy, falls, onset_db, small_db

from cyclechart.sound.drum_models import DRUMS, SOUNDS
from cyclechart.sound.hand_drums import stroke
from cyclechart.sound.kit_drums import CRASH, HITS, OPEN_HAT, RIDE, hit
from cyclechart.sound.rate import RATE
from cyclechart.sound.variants import MOST_CENTS, VARIANTS, checked_variant
from cyclechart.write.audio.choked import choked, rings_until
from cyclechart.write.audio.performance import Stroke
from cyclechart.write.audio.variation import ALTERNATION, ROTATION, variants_of

SA = 293.66
SOFT, HARD = 50, 127


@pytest.mark.parametrize("sound", ["na", "tin"])
@pytest.mark.parametrize("velocity", [SOFT, 96, HARD])
def test_fingers_are_heard_as_they_meet_the_head(sound: str, velocity: int) -> None:
    found = onset_db(stroke("tabla", sound, velocity, SA))
    assert -20 <= found < -8


@pytest.mark.parametrize("sound", ["na", "tin", "te", "ge", "ke"])
def test_a_hard_stroke_is_brighter_by_half(sound: str) -> None:
    soft, hard = (centroid(stroke("tabla", sound, one, SA)) for one in (SOFT, HARD))
    assert hard >= 1.5 * soft


@pytest.mark.parametrize("sound", SOUNDS)
def test_the_contact_rises_with_force(sound: str) -> None:
    found = [onset_db(stroke("tabla", sound, velocity, SA)) for velocity in (30, 64, 96, 127)]
    assert found == sorted(found) and found[-1] > found[0] + 6


def test_a_small_loudspeaker_plays_the_bass_drum() -> None:
    bass, treble = (stroke("tabla", sound, 96, SA) for sound in ("ge", "na"))
    assert small_db(bass) > -20
    heard = (10 * np.log10(energy(one)) + small_db(one) for one in (treble, bass))
    assert next(heard) - next(heard) < 12


@pytest.mark.parametrize("drum", DRUMS)
def test_variants_differ_and_keep_tuning_and_loudness(drum: str) -> None:
    for sound in SOUNDS:
        waves = [stroke(drum, sound, 96, SA, variant) for variant in range(VARIANTS)]
        assert len({wave.tobytes() for wave in waves}) == VARIANTS
        levels = [10 * np.log10(energy(wave)) for wave in waves]
        assert max(levels) - min(levels) < 1.5, sound
        assert all(float(np.abs(wave).max()) <= 0.98 for wave in waves)


def test_the_tuned_partial_stays_in_tune() -> None:
    found = []
    for variant in range(VARIANTS):
        wave = stroke("tabla", "na", 110, SA, variant)
        strength = np.abs(
            np.fft.rfft(wave[RATE // 10 :] * np.hanning(len(wave) - RATE // 10), 1 << 20)
        )
        hz = np.fft.rfftfreq(1 << 20, 1 / RATE)
        near = np.abs(hz - SA) < 15
        found.append(float(hz[near][strength[near].argmax()]))
    assert all(abs(1200 * np.log2(hz / SA)) < 2 for hz in found)
    moved = np.concatenate([checked_variant(one, 0).ratios(20) for one in range(1, VARIANTS)])
    assert np.abs(1200 * np.log2(moved)).max() <= MOST_CENTS


@pytest.mark.parametrize("key", sorted(HITS))
def test_hits_have_variants_of_one_loudness(key: int) -> None:
    waves = [hit(key, 96, variant) for variant in range(VARIANTS)]
    assert len({wave.tobytes() for wave in waves}) == VARIANTS
    levels = [10 * np.log10(energy(wave)) for wave in waves]
    assert max(levels) - min(levels) < 0.5
    assert hit(key, 96, 3).tobytes() == waves[3].tobytes()


def test_cymbals_ring() -> None:
    assert 0.9 < falls(hit(OPEN_HAT, 100), 30) < 1.6
    assert 1.2 < falls(hit(CRASH, 100), 30) < 2.2
    assert falls(hit(RIDE, 100), 30) > 1.0
    # The stick on a ride is heard near 10 kHz.
    power = np.abs(np.fft.rfft(hit(RIDE, 100)[: RATE // 20])) ** 2
    hz = np.fft.rfftfreq(RATE // 20, 1 / RATE)
    assert power[(hz > 6000) & (hz < 15_000)].sum() > 0.5 * power.sum()


@pytest.mark.parametrize("number", [-1, VARIANTS])
def test_a_variant_that_there_is_not(number: int) -> None:
    for wrong in (lambda: stroke("tabla", "na", 90, SA, number), lambda: hit(OPEN_HAT, 90, number)):
        with pytest.raises(ValueError, match="variants 0 to 3"):
            wrong()


@given(st.lists(st.sampled_from("abc"), max_size=60))
def test_neighbours_of_one_sound_differ(sounds: list[str]) -> None:
    for order in (ROTATION, ALTERNATION):
        found = variants_of(sounds, order)
        assert found == variants_of(sounds, order)
        for sound in set(sounds):
            own = [one for one, other in zip(found, sounds, strict=True) if other == sound]
            assert all(one != other for one, other in pairwise(own))
            if order is ROTATION and len(own) > 1:
                assert own[0] != own[-1]


def test_every_variant_follows_every_other_once() -> None:
    pairs = list(zip(ROTATION, (*ROTATION[1:], ROTATION[0]), strict=True))
    assert len(set(pairs)) == len(pairs) == VARIANTS * (VARIANTS - 1)
    assert all(one != other for one, other in pairs)


def test_a_closed_hat_and_a_flat_hand_end_what_rings() -> None:
    strokes = [
        Stroke(0, 46, 90), Stroke(0, 42, 90), Stroke(50, 36, 90), Stroke(90, 44, 60),
        Stroke(120, "ge", 90), Stroke(130, "na", 90), Stroke(140, "ke", 90), Stroke(200, 46, 90),
    ]  # fmt: skip
    assert rings_until(strokes) == [90, None, None, None, 140, None, None, None]
    # Round and round: what is struck at the beginning ends what rings over the end.
    assert rings_until(strokes, 1000)[-1] == 1000
    wave = hit(OPEN_HAT, 90)
    short = choked(wave, 5000)
    assert np.array_equal(short[:5000], wave[:5000])
    assert len(short) < 7000 and short[-1] == 0
    assert choked(wave, len(wave)) is wave
