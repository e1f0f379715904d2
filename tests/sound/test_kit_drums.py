"""The kit and the counting hands: each key sounds like its name, in plausible balance.

The limits for low, high, short and long are common practice (from memory).
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cyclechart.arrange.roles.drum_kit import (
    CRASH,
    GHOST,
    HAT,
    KICK,
    KIT,
    OPEN_HAT,
    PEDAL,
    RIDE,
    RIM,
    SNARE,
)  # fmt: skip
from cyclechart.arrange.roles.drummer import CLAP, TAP, WAVE
from cyclechart.sound.kit_drums import BELL, HIGH_TOM, HITS, LOW_TOM, MID_TOM, hit
from cyclechart.sound.rate import RATE, Wave

KEYS = st.sampled_from(sorted(HITS))


def energy(wave: Wave) -> float:
    return float(np.sum(np.asarray(wave, float) ** 2))


def falls(wave: Wave, decibels: float) -> float:
    """Seconds until what is left of the sound's energy has fallen so far."""
    left = np.cumsum(np.asarray(wave, float)[::-1] ** 2)[::-1]
    return float(np.argmax(left < left[0] * 10 ** (-decibels / 10))) / RATE


def centroid(wave: Wave) -> float:
    strength = np.abs(np.fft.rfft(wave)) ** 2
    return float((np.fft.rfftfreq(len(wave), 1 / RATE) * strength).sum() / strength.sum())


def peak(wave: Wave) -> float:
    return float(np.abs(wave).max())


def test_every_key_that_the_band_can_hit() -> None:
    assert set(HITS) == {*KIT, CLAP, WAVE, TAP}


def test_low_to_high() -> None:
    low_to_high = [centroid(hit(key, 100)) for key in (KICK, RIM, SNARE, PEDAL, OPEN_HAT, HAT)]
    assert low_to_high == sorted(low_to_high)
    assert low_to_high[0] < 150
    assert low_to_high[-1] > 6000


def test_short_to_long() -> None:
    short_to_long = [falls(hit(key, 100), 40) for key in (RIM, HAT, OPEN_HAT, RIDE, CRASH)]
    assert short_to_long == sorted(short_to_long)
    assert short_to_long[0] < 0.1
    assert short_to_long[-1] > 1
    assert falls(hit(GHOST, 100), 20) < falls(hit(SNARE, 100), 20)


def test_the_kick_falls_to_its_pitch() -> None:
    # Crossings of zero in the first and in the third tenth of a second.
    wave = hit(KICK, 100)
    early, late = (
        int(np.sum(np.diff(np.signbit(wave[start : start + RATE // 10]))))
        for start in (0, RATE // 5)
    )
    assert early > late
    assert 45 < late * 5 < 65


def test_the_snare_is_a_plain_head_under_noise() -> None:
    # Mode (1,1) by (0,1): the zeros of J1 and J0 (Rayleigh, The Theory of Sound, ch. IX).
    from scipy.special import jn_zeros

    wave = hit(SNARE, 60)
    strength = np.abs(np.fft.rfft(wave, 1 << 17))
    hz = np.fft.rfftfreq(1 << 17, 1 / RATE)

    def line(low: float, high: float) -> float:
        inside = np.flatnonzero((hz > low) & (hz < high))
        return float(hz[inside[np.argmax(strength[inside])]])

    ratio = line(240, 340) / line(150, 220)
    assert abs(ratio - jn_zeros(1, 1)[0] / jn_zeros(0, 1)[0]) < 0.04


def test_a_cymbal_builds_up() -> None:
    # The energy of a struck cymbal reaches the kHz only after some hundredths of a second
    # (Fletcher and Rossing, The Physics of Musical Instruments, ch. 20; from memory).
    wave = hit(CRASH, 110)
    assert centroid(wave[:700]) < centroid(wave[1500:4000])


def test_the_wave_is_softer_than_the_clap_and_begins_softly() -> None:
    clap, wave, tap = (hit(key, 100) for key in (CLAP, WAVE, TAP))
    assert peak(wave) < peak(clap)
    assert int(np.argmax(np.abs(wave))) > 0.01 * RATE
    assert int(np.argmax(np.abs(clap))) < 0.012 * RATE
    assert tap.tobytes() == hit(RIM, 100).tobytes()  # one key, General MIDI's side stick


@pytest.mark.parametrize(("key", "low", "high"), [(LOW_TOM, 75, 95), (MID_TOM, 108, 130),
                                                  (HIGH_TOM, 150, 180)])  # fmt: skip
def test_a_tom_settles_at_its_pitch_and_bends_down_to_it(key: int, low: int, high: int) -> None:
    wave = hit(key, 110)
    strength = np.abs(np.fft.rfft(wave[RATE // 8 : RATE // 3], 1 << 17))
    hz = np.fft.rfftfreq(1 << 17, 1 / RATE)
    settled = float(hz[int(np.argmax(strength))])
    assert low < settled < high
    early = np.abs(np.fft.rfft(wave[: RATE // 25], 1 << 17))
    assert float(hz[int(np.argmax(early))]) > settled


def test_toms_from_low_to_high_between_kick_and_snare_and_ringing_longer_the_lower() -> None:
    keys = (KICK, LOW_TOM, MID_TOM, HIGH_TOM, SNARE)
    assert [centroid(hit(key, 100)) for key in keys] == sorted(centroid(hit(k, 100)) for k in keys)
    rings = [falls(hit(key, 100), 30) for key in (LOW_TOM, MID_TOM, HIGH_TOM)]
    assert rings == sorted(rings, reverse=True)
    assert 0.2 < rings[-1] < rings[0] < 1


def test_the_bell_of_the_ride_is_clearer_and_louder_than_the_ride() -> None:
    # Of the bell a few strong tones are heard, of the ride a bed (from memory): more of the bell's
    # strength stands in its strongest tones.
    def tonal(key: int) -> float:
        strength = np.sort(np.abs(np.fft.rfft(hit(key, 100)[: RATE // 2])) ** 2)[::-1]
        return float(strength[:60].sum() / strength.sum())

    assert tonal(BELL) > tonal(RIDE)
    assert peak(hit(BELL, 100)) > peak(hit(RIDE, 100))
    assert falls(hit(BELL, 100), 40) > falls(hit(HAT, 100), 40)


def test_balance() -> None:
    peaks = {key: peak(hit(key, 127)) for key in HITS}
    assert max(peaks.values()) < 0.9
    assert peaks[KICK] >= peaks[SNARE] > peaks[GHOST]
    assert peaks[SNARE] > peaks[HAT] >= peaks[PEDAL]
    assert peaks[CRASH] > peaks[RIDE]
    assert peaks[KICK] >= peaks[LOW_TOM] >= peaks[MID_TOM] >= peaks[HIGH_TOM] > peaks[HAT]


@settings(max_examples=25)
@given(KEYS, st.integers(1, 127))
def test_clean_and_over_when_it_ends(key: int, velocity: int) -> None:
    wave = hit(key, velocity)
    assert wave.dtype == np.float32
    assert np.isfinite(wave).all()
    assert 0.05 < len(wave) / RATE < 5
    assert wave[0] == 0 and wave[-1] == 0
    assert 0 < peak(wave) < 0.9
    assert np.abs(wave[:3]).max() < peak(wave) / 5
    assert np.abs(wave[-442:]).max() < peak(wave) * 10 ** (-70 / 20)
    assert abs(float(np.mean(wave, dtype=float))) < peak(wave) / 100


@settings(max_examples=25)
@given(KEYS, st.integers(1, 126))
def test_harder_is_louder(key: int, velocity: int) -> None:
    soft, hard = hit(key, velocity), hit(key, velocity + 1)
    assert energy(hard) > energy(soft)


@pytest.mark.parametrize("key", sorted(HITS))
def test_harder_is_brighter(key: int) -> None:
    assert centroid(hit(key, 127)) > centroid(hit(key, 30))


@pytest.mark.parametrize("key", sorted(HITS))
def test_the_same_bytes(key: int) -> None:
    assert hit(key, 99).tobytes() == hit(key, 99).tobytes()


@pytest.mark.parametrize(("key", "velocity"), [(35, 90), (0, 90), (KICK, 0), (KICK, 128)])
def test_what_cannot_be_is_said(key: int, velocity: int) -> None:
    with pytest.raises(ValueError, match=r"^[A-Z].*\.$"):
        hit(key, velocity)
