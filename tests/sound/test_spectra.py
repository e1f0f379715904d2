"""The harmonic tables as data, and against published measurements of such tones."""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from itertools import combinations, pairwise

import numpy as np
import pytest

from cyclechart.catalog.instruments import instrument, instrument_names
from cyclechart.sound.spectra import HIGHEST_HZ, LEVELS, RULES, Zone, partial_sign
from cyclechart.sound.voice_tables import Voice, named_voice, voice_names

voices = pytest.mark.parametrize("name", sorted(voice_names()))


def near(voice: Voice, hz: float) -> Zone:
    return min(voice.zones, key=lambda zone: abs(math.log(zone.hz / hz)))


def decibels(zone: Zone, level: int = LEVELS - 1) -> list[float]:
    return [20 * math.log10(max(1e-5, abs(a))) for a in zone.levels[level]]


def test_every_voice_asked_for() -> None:
    named = filter(None, map(instrument, instrument_names()))
    used = {one.voice for one in named if one.program is not None}
    assert set(voice_names()) == set(RULES) == used


@voices
def test_data_survives_json(name: str) -> None:
    table = asdict(named_voice(name))
    text = json.dumps(table, allow_nan=False)
    assert "-0.0," not in text and "-0.0]" not in text
    assert json.loads(text)["zones"][0]["levels"][1] == list(table["zones"][0]["levels"][1])


@voices
def test_zones_rise_and_levels_have_one_power(name: str) -> None:
    zones = named_voice(name).zones
    assert [zone.hz for zone in zones] == sorted({zone.hz for zone in zones})
    for zone in zones:
        assert len(zone.levels) == LEVELS
        assert len({len(level) for level in zone.levels}) == 1
        assert len(zone.levels[0]) * zone.hz <= HIGHEST_HZ
        for level in zone.levels:
            assert sum(a * a for a in level) / 2 == pytest.approx(1, abs=2e-3)


@voices
def test_brighter_level_by_level(name: str) -> None:
    for zone in named_voice(name).zones:
        centres = [sum(n * a * a for n, a in enumerate(level, 1)) for level in zone.levels]
        assert all(b >= a - 1e-3 for a, b in pairwise(centres))


@voices
def test_no_tone_peaks_far_above_its_rms(name: str) -> None:
    for zone in named_voice(name).zones:
        for level in zone.levels:
            spectrum = np.zeros(1025, complex)
            spectrum[1 : len(level) + 1] = np.array(level) * -1024j
            assert np.abs(np.fft.irfft(spectrum, 2048)).max() < 3


def test_signs_are_the_rudin_shapiro_sequence() -> None:
    """OEIS A020985."""
    assert [partial_sign(n) for n in range(1, 17)] == [
        1,
        1,
        1,
        -1,
        1,
        1,
        -1,
        1,
        1,
        1,
        1,
        -1,
        -1,
        -1,
        1,
        -1,
    ]


@pytest.mark.parametrize(("hz", "formants"), [(98.0, (730, 1090)), (220.0, (800, 1170))])
def test_vowel_is_strong_at_its_formants(hz: float, formants: tuple[int, int]) -> None:
    """Peterson and Barney, JASA 24, 1952: "hod", men 730 and 1090 Hz, women 850 and 1220.

    The third, about 2.4 and 2.8 kHz, is 27 dB weaker than the first.
    """
    zone = near(named_voice("vowel"), hz)
    levels = decibels(zone)
    at = max(range(1, len(levels)), key=lambda n: levels[n])
    assert formants[0] - zone.hz <= (at + 1) * zone.hz <= formants[1] + zone.hz
    dip = levels[round(1800 / zone.hz) - 1]
    third = max(levels[round(2300 / zone.hz) - 1 : round(3000 / zone.hz)])
    assert third > dip
    assert third - max(levels) == pytest.approx(-27, abs=8)
    assert min(levels[round(f / zone.hz) - 1] for f in formants) > dip + 12


@pytest.mark.parametrize(
    ("name", "still"), [("lute", 8), ("piano", 8), ("bass", 5), ("guitar", 5), ("steel", 9)]
)
def test_string_lacks_what_rests_where_it_is_set_off(name: str, still: int) -> None:
    """Young, 1800: no partial with a node at the place of the stroke."""
    levels = decibels(near(named_voice(name), 110))
    assert levels[still - 1] < levels[still - 2] - 3
    assert levels[still - 1] < levels[still] - 3


def test_bowed_is_about_a_saw() -> None:
    """Helmholtz, 1863: partial n at 1/n; the body takes from and adds to it."""
    levels = decibels(near(named_voice("bowed"), 196))
    for n in range(2, 13):
        assert levels[n - 1] - levels[0] == pytest.approx(-20 * math.log10(n), abs=7)


def test_reed_falls_above_the_cutoff_of_its_holes() -> None:
    """Benade, 1976: near 1.5 kHz, the fall above it 12 dB an octave and more."""
    zone = near(named_voice("reed"), 147)
    levels = decibels(zone, 1)
    below = levels[round(350 / zone.hz) - 1] - levels[round(700 / zone.hz) - 1]
    above = levels[round(4000 / zone.hz) - 1] - levels[round(8000 / zone.hz) - 1]
    assert below < 6 and above > 12


def test_brass_gains_partials_with_loudness() -> None:
    """Risset and Mathews, Physics Today 22, 1969."""
    zone = near(named_voice("brass"), 233)
    eighth = [decibels(zone, level)[7] - decibels(zone, level)[0] for level in range(LEVELS)]
    assert eighth == sorted(eighth) and eighth[-1] - eighth[0] > 15


@voices
def test_times_and_levels_within_reason(name: str) -> None:
    voice = named_voice(name)
    assert 0 < voice.attack <= 0.06
    assert 0.02 <= voice.release <= 0.3
    assert voice.decay > 0 and 0 < voice.sustain <= 1 and voice.fade >= 0
    assert 0 <= voice.soft < voice.loud <= 1
    assert 0 < voice.keeps <= 1 and voice.dulls > 0 and 0 <= voice.bloom < 1
    assert voice.noise.low < voice.noise.high < 10_000


@pytest.mark.parametrize("name", ["marimba", "vibraphone"])
def test_bars_have_the_modes_that_makers_tune(name: str) -> None:
    """Fletcher and Rossing, The Physics of Musical Instruments, chapter 19: 1:4:10 and 1:4."""
    for zone in named_voice(name).zones:
        for level in zone.levels:
            assert {n for n, a in enumerate(level, 1) if a} <= {1, 4, 10}
            assert abs(level[0]) == max(map(abs, level))


def test_clarinet_lacks_even_partials_in_low_notes_alone() -> None:
    """A pipe closed at one end (Benade, 1976)."""
    low, high = (decibels(near(named_voice("clarinet"), hz)) for hz in (165, 1300))
    assert low[1] < min(low[0], low[2]) - 10
    assert high[1] > high[2]


def test_no_two_voices_share_a_spectrum() -> None:
    """Centroids and levels of the first ten partials at 262 Hz differ by 2 dB somewhere."""
    tables = {name: (decibels(near(named_voice(name), 262), 2) + [-100.0] * 10)[:10]
              for name in voice_names()}  # fmt: skip
    for one, other in combinations(tables, 2):
        assert max(abs(a - b) for a, b in zip(tables[one], tables[other], strict=True)) > 2
