"""The sound of the rehearsal page, rendered by its own graph: times, pitches and levels."""

from __future__ import annotations

from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page
from support.browsing import (
    DATA,
    DESK,
    HERTZ,
    cents,
    chromium,
    file,
    hertz_of,
    loop_events,
    only_voice,
    open_page,
    render_sound,
    sample_data,
    studio,
    write_page,
)  # fmt: skip

from cyclechart.sound.rate import RATE
from cyclechart.sound.voice_tables import STEADY, named_voice, voice_names
from cyclechart.sound.voices import play

__all__ = ["chromium", "file", "studio"]


# --- what is played when ---


def test_ten_minutes_of_looping_do_not_drift(studio: Page) -> None:
    turns = DATA["turns"]
    begin, end = turns[5]["beats"][0], turns[6]["beats"][-1]
    factor = 0.83
    found = studio.evaluate(
        "([at, factor]) => window.__page.schedule(at, {factor, loop: [5, 6]}, 600)"
        ".map((one) => [one.time, one.voice, one.index])",
        [begin, factor],
    )
    wanted = loop_events(begin, end, factor, 600)
    assert len(found) == len(wanted) > 2000
    assert [one[1:] for one in sorted(map(tuple, found))] == [one[1:] for one in wanted]
    off = max(abs(one[0] - other[0]) for one, other in zip(sorted(found), wanted, strict=True))
    assert off < 1e-4, off


def test_a_whole_piece_is_scheduled_event_for_event(studio: Page) -> None:
    found = studio.evaluate(
        "() => window.__page.schedule(0, {}, 1e9).map((one) => [one.time, one.voice, one.index])"
    )
    wanted = loop_events(0, DATA["length"], 1, DATA["length"])
    found = sorted(map(tuple, found))
    assert [one[1:] for one in found] == [one[1:] for one in wanted]
    assert [one[0] for one in found] == pytest.approx([one[0] for one in wanted], abs=1e-9)


def test_sing_back_repeats_each_stretch_without_the_melody(studio: Page) -> None:
    begin = DATA["turns"][1]["beats"][0]
    found = studio.evaluate(
        "(at) => window.__page.schedule(at, {loop: [1, 2], sing: 1}, 14)", begin
    )
    by_round = [
        [sum(one["voice"] == voice and 0 <= one["time"] - 3.5 * at < 3.5 for one in found)
         for voice in (0, 2)]
        for at in range(4)
    ]  # fmt: skip
    assert by_round == [[7, 7], [0, 7], [7, 7], [0, 7]]
    sung = [one["index"] for one in found if one["voice"] == 2]
    assert sung[:7] == sung[7:14] and sung[14:21] == sung[21:28] != sung[:7]


def test_the_count_in_is_one_cycle_of_claps(studio: Page) -> None:
    begin = DATA["turns"][5]["beats"][0]
    found = studio.evaluate(
        "(at) => window.__page.schedule(at, {count: true, factor: 0.5}, 6)", begin
    )
    claps = [(one["time"], one["sign"]) for one in found if one["kind"] == "clap"]
    assert claps == [(0, "X"), (1, ""), (2, "0"), (3, ""), (4, "2"), (5, "")]
    assert min(one["time"] for one in found if one["kind"] != "clap") == 5.5


def test_a_start_within_a_held_note_joins_it(studio: Page) -> None:
    start, length = DATA["voices"][0]["tones"][-1][:2]
    found = studio.evaluate("(at) => window.__page.schedule(at, {factor: 2}, 0.1)", start + 1)
    [joined] = [one for one in found if one["voice"] == 0]
    assert (joined["time"], joined["skip"]) == (0, 0.5)
    assert joined["length"] == pytest.approx((length - 1) / 2)


# --- pitch and time of the sound itself ---


def test_held_tones_are_in_tune_at_any_tempo_and_on_any_sa(studio: Page) -> None:
    free = DATA["sections"][3]["start"]
    for shift, factor in ((0, 1.0), (0, 0.4), (4, 1.4), (-5, 1.0)):
        wave = render_sound(
            studio, 2.0, position=free, shift=shift, play={"factor": factor}, **only_voice(0)
        )[:, 0]
        before = round(1.0 / factor * RATE) - 2000
        near = HERTZ * 2 ** ((700 + 100 * shift) / 1200)
        assert abs(cents(hertz_of(wave[4000:before], near), near)) < 0.5


def test_a_glide_arrives_where_it_leads(studio: Page) -> None:
    free = DATA["sections"][3]["start"]
    wave = render_sound(studio, 3.4, position=free, **only_voice(0))[:, 0]
    near = HERTZ * 2
    assert abs(cents(hertz_of(wave[round(1.6 * RATE) :], near), near)) < 0.5


def test_the_drone_moves_with_sa_and_stays_in_tune(studio: Page) -> None:
    for shift in (0, 3, -5, 6):
        wave = render_sound(studio, 3.0, shift=shift, drone=True, muted=[True] * 4)[:, 0]
        near = HERTZ / 2 * 2 ** (shift / 12)
        assert abs(cents(hertz_of(wave[4000 : 2 * RATE], near), near)) < 0.5
    piece = render_sound(studio, 1.1, shift=3, **only_voice(3))[:, 0]
    near = HERTZ / 2 * 2 ** (3 / 12)
    assert abs(cents(hertz_of(piece[4000:], near), near)) < 0.5


def onsets(wave: np.ndarray[Any, Any], apart: float) -> list[float]:
    """Return the times at which it rises over a hundredth of its peak after silence."""
    loud = np.flatnonzero(np.abs(wave) > np.abs(wave).max() / 100)
    first = np.concatenate([[True], np.diff(loud) > apart * RATE])
    return [float(at) / RATE for at in loud[first]]


def test_strokes_and_tones_begin_on_time(studio: Page) -> None:
    begin = DATA["turns"][1]["beats"][0]
    for factor in (1.0, 0.7, 1.4):
        play = {"factor": factor, "loop": [1, 1]}
        wave = render_sound(studio, 8.0, position=begin, play=play, **only_voice(2))[:, 0]
        wanted = [0.5 * at / factor for at in range(int(8 * factor / 0.5) + 1)]
        found = onsets(wave, 0.1)
        assert np.abs(np.array(found) - wanted[: len(found)]).max() < 0.001
        assert len(wanted) - len(found) <= 1
    # A flute and a plucked bass, in a section of long notes.
    for voice, most in ((0, 0.002), (1, 0.001)):
        wave = render_sound(studio, 1.0, position=begin, **only_voice(voice))[:, 0]
        assert onsets(wave, 0.1)[0] < most


def test_what_is_muted_is_silent_and_levels_are_decibels(studio: Page) -> None:
    begin = DATA["turns"][1]["beats"][0]
    assert not render_sound(studio, 2.0, position=begin, muted=[True] * 4).any()
    loud, soft = (
        render_sound(studio, 2.0, position=begin, **only_voice(2), level=level)[:, 0]
        for level in (0, -20)
    )
    assert np.abs(soft * 10 - loud).max() < 1e-4 * np.abs(loud).max()


def test_tones_are_as_loud_and_as_bright_as_the_recordings(
    chromium: Browser, tmp_path: Path
) -> None:
    """The page's synthesiser against ours, voice by voice: attack, held tone, short loud note."""
    data = sample_data()
    # Each has its own slow change, which is random: without it both are to be one.
    steady = {name: replace(named_voice(name), drift=STEADY) for name in voice_names()}
    data["waves"] = {name: asdict(voice) for name, voice in steady.items()}
    tones: list[Any] = [(0.0, 0.9, 0.0, 86, [], 0), (1.2, 0.12, 0.0, 110, [], 0)]
    plain = data["voices"][0]
    data["voices"] = [
        {**plain, "name": name, "wave": name, "pan": -1.0, "tones": tones} for name in voice_names()
    ]
    with open_page(chromium, write_page(tmp_path, data), **DESK) as watched:
        for at, name in enumerate(voice_names()):
            muted = [one != at for one in range(len(voice_names()))]
            wave = render_sound(watched.page, 1.5, muted=muted, room=False)[:, 0]
            ours = np.zeros(len(wave))
            for start, length, _, velocity, *_ in tones:
                made = play(steady[name], HERTZ, round(length * RATE), velocity)
                ours[round(start * RATE) :][: len(made)] += made[: len(ours) - round(start * RATE)]
            for start, end in ((0.0, 0.05), (0.1, 0.8), (1.2, 1.35)):
                here = slice(round(start * RATE), round(end * RATE))
                assert abs(decibels(wave[here]) - decibels(ours[here])) < 0.5, name
                assert 0.75 < centre(wave[here]) / centre(ours[here]) < 1.33, name


def test_joined_tones_go_on_without_an_attack_and_change_slowly(
    chromium: Browser, tmp_path: Path
) -> None:
    """Where they join: no dip as between attacked ones, no noise; each held tone moves a little."""
    names = ["flute", "reed", "bowed", "vowel"]
    data = sample_data()
    data["waves"] = {name: asdict(named_voice(name)) for name in names}
    plain = data["voices"][0]
    lines: dict[str, list[Any]] = {
        "apart": [(0.0, 1.0, 0.0, 86, [], 0), (1.0, 1.0, 200.0, 86, [], 0)],
        "joined": [(0.0, 1.0, 0.0, 86, [], 2), (1.0, 1.0, 200.0, 86, [], 1)],
    }
    data["voices"] = [
        {**plain, "name": name + how, "wave": name, "pan": -1.0, "tones": tones}
        for name in names for how, tones in lines.items()
    ]  # fmt: skip
    with open_page(chromium, write_page(tmp_path, data), **DESK) as watched:
        for at in range(0, 2 * len(names), 2):
            waves = [
                render_sound(
                    watched.page, 2.2, room=False,
                    muted=[one != which for one in range(2 * len(names))],
                )[:, 0]
                for which in (at, at + 1)
            ]  # fmt: skip
            size = round(0.02 * RATE)
            joined = [decibels(waves[1][start : start + size])
                      for start in range(round(0.9 * RATE), round(1.2 * RATE), size)]  # fmt: skip
            held = decibels(waves[1][round(0.3 * RATE) : round(0.9 * RATE)])
            assert min(joined) - held > -5 and max(joined) - held < 3
            noise = [high_band(wave[round(0.98 * RATE) : round(1.04 * RATE)]) for wave in waves]
            assert noise[1] < noise[0] - 1
            steps = [decibels(waves[1][start : start + 4 * size])
                     for start in range(round(0.3 * RATE), round(0.9 * RATE), size)]  # fmt: skip
            assert 0.05 < np.std(steps) < 2


def high_band(wave: np.ndarray[Any, Any]) -> float:
    """Return the level above 3.5 kHz, in dB, where noise of an attack outweighs the tone."""
    power = np.abs(np.fft.rfft(wave * np.hanning(len(wave)))) ** 2
    return float(10 * np.log10(power[np.fft.rfftfreq(len(wave), 1 / RATE) > 3500].sum()))


def decibels(wave: np.ndarray[Any, Any]) -> float:
    return float(10 * np.log10(np.mean(np.square(wave, dtype=float))))


def centre(wave: np.ndarray[Any, Any]) -> float:
    """Return the frequency below which half of the brightness lies, in hertz."""
    power = np.abs(np.fft.rfft(wave * np.hanning(len(wave)))) ** 2
    return float(np.sum(power * np.fft.rfftfreq(len(wave), 1 / RATE)) / np.sum(power))


def test_nothing_leaves_full_scale(studio: Page) -> None:
    begin = DATA["turns"][1]["beats"][0]
    loud = render_sound(studio, 3.0, position=begin, levels=[20] * 4)
    assert 0.8 < np.abs(loud).max() <= 1.0
