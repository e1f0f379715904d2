"""The filters for a small loudspeaker: what they cut, raise and add.

Outside: scipy's Butterworth filters and its frequency responses of second-order sections.
"""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import butter, freqz_sos

from cyclechart.sound import kit_drums, loudspeaker, voices
from cyclechart.sound.loudspeaker import LOW_HZ, SHELF_HZ, SpeakerFilter
from cyclechart.sound.rate import RATE

PHONE = butter(4, 450, "highpass", fs=RATE, output="sos")


def response(speaker: SpeakerFilter, hz: list[float]) -> NDArray[np.float64]:
    """The response in dB of a filter without further partials, from its answer to an impulse."""
    impulse = np.zeros(1 << 15, np.float32)
    impulse[0] = 1
    answer = speaker.filtered(impulse).astype(float)
    turns = np.exp(-2j * np.pi * np.outer(hz, np.arange(len(answer))) / RATE)
    return np.asarray(20 * np.log10(np.abs(turns @ answer)))


def test_the_low_end_is_cut_as_by_a_butterworth_filter() -> None:
    hz = [20.0, 45.0, 60.0, LOW_HZ, 200.0, 1000.0, 8000.0]
    _, bare = freqz_sos(butter(2, LOW_HZ, "highpass", fs=RATE, output="sos"), hz, fs=RATE)
    assert response(SpeakerFilter(), hz) == pytest.approx(20 * np.log10(np.abs(bare)), abs=0.02)


def test_the_shelf_raises_upper_partials() -> None:
    plain, raised = (response(SpeakerFilter(by), [110.0, SHELF_HZ, 6000.0]) for by in (0.0, 6.0))
    assert raised - plain == pytest.approx([0.0, 3.0, 6.0], abs=0.15)


@pytest.mark.parametrize("hz", [41, 55, 82, 110, 147, 196, 247])
def test_added_partials_are_in_tune_and_do_not_alias(hz: int) -> None:
    tone = np.sin(2 * np.pi * hz * np.arange(2 * RATE) / RATE).astype(np.float32)
    for loud in (0.03, 0.3, 1.0):
        plain, rich = (SpeakerFilter(0.0, by).filtered(loud * tone) for by in (None, 0.0))
        added = (rich - plain)[RATE:].astype(float)
        spectrum = np.abs(np.fft.rfft(added * np.hanning(RATE)))
        lines = np.arange(len(spectrum)) % hz
        away = np.minimum(lines, hz - lines) > 3
        # Partials are whole multiples of the tone; whatever lies between them is folded.
        assert 20 * np.log10(spectrum[away].max() / spectrum.max()) < -60
        assert loud < 0.1 or hz > 150 or int(np.argmax(spectrum)) > 1.5 * hz


def test_bass_and_bass_drum_are_heard_through_a_phone() -> None:
    from scipy.signal import sosfilt

    def through(wave: NDArray[np.float32]) -> float:
        return float(10 * np.log10((sosfilt(PHONE, wave.astype(float)) ** 2).mean()))

    for midi in (28, 31, 36, 40):
        bass = voices.tone("bass", 440 * 2 ** ((midi - 69) / 12), RATE, 80, ())
        assert through(SpeakerFilter(6.0, 0.0).filtered(bass)) > through(bass) + 5
    drum = kit_drums.hit(kit_drums.KICK, 100)
    assert through(SpeakerFilter(0.0, 0.0).filtered(drum)) > through(drum) + 6


def test_silence_stays_silent_and_blocks_join() -> None:
    assert not SpeakerFilter(6.0, 0.0).filtered(np.zeros(1000, np.float32)).any()
    wave = np.random.default_rng(3).uniform(-0.5, 0.5, 10_000).astype(np.float32)
    whole = SpeakerFilter(4.0, -3.0).filtered(wave)
    one = SpeakerFilter(4.0, -3.0)
    parts = np.concatenate([one.filtered(part) for part in np.split(wave, [17, 4000, 4001])])
    assert np.array_equal(parts, whole)
    assert np.array_equal(loudspeaker.shaped(np.zeros(3)), np.zeros(3))
