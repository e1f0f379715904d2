"""The data of the rehearsal page: what sounds is what is played, turns and beats fill the piece."""

from __future__ import annotations

import base64
import io
import json
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from math import isclose, log2

import numpy as np
import pytest
import soundfile
from support.bands import band_of
from support.making import ROOT, load_text

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.clock import clock_of
from cyclechart.arrange.roles.drone import string_pitches
from cyclechart.piece.model import Piece
from cyclechart.sound.rate import RATE
from cyclechart.sound.strings import tuned_string_hz
from cyclechart.sound.voice_tables import named_voice
from cyclechart.write.audio.mixdown import part_gains
from cyclechart.write.audio.performance import Performance, Stroke, Tone, performance_of
from cyclechart.write.audio.stems import stem
from cyclechart.write.webpage.data import page_data
from cyclechart.write.webpage.schema import PageData

NAMES = ("ferry-at-first-light", "lock-eleven", "two-tides", "7", "17", "103")
"""Pieces that have between them all that goes into a page but its parts."""
every_piece = pytest.mark.parametrize("name", NAMES)


@lru_cache(maxsize=32)
def data_of(name: str) -> PageData:
    """A page without parts to read."""
    return page_data(band_of(name).piece, shifts=())


@lru_cache(maxsize=32)
def performance_named(name: str) -> Performance:
    """Return the performance of a piece."""
    return performance_of(arrange(band_of(name).piece))


def read(text: str) -> Piece:
    result = load_text(text, ROOT)
    assert result.piece is not None, result.findings
    return result.piece


def page_of(cycle: str, form: str, more: str = "", tempo: str = "60", lines: str = "") -> PageData:
    return page_data(
        read(
            f"title: Small\ntonic: D\nmode: yaman\ncycle: {cycle}\ntempo: {tempo}\n{more}"
            "players:\n  flute: {plays: melody}\n  tabla: {plays: theka}\n"
            f"lines:\n  one:\n    sargam: S R G M P D N S' N D\n{lines}form:\n{form}"
        ),
        shifts=(),
    )


@every_piece
def test_everything_that_is_played_is_there(name: str) -> None:
    data, performance = data_of(name), performance_named(name)
    assert len(data["voices"]) == len(performance.parts)
    for voice, part, place in zip(
        data["voices"], performance.parts, part_gains(performance.parts), strict=True
    ):
        assert voice["role"] == part.role.on_page
        level = 10 ** (voice["level"] / 20)
        assert isclose(place.left**2 + place.right**2, level**2)
        assert isclose(place.room, level * 10 ** (voice["room"] / 20))
        assert isclose(place.right - place.left, 0, abs_tol=1e-9) == (voice["pan"] == 0)
        if voice["tones"]:
            assert voice["wave"] in data["waves"] and not voice["strokes"]
            for (start, length, cents, velocity, curve, joined), tone in zip(
                voice["tones"], part.tones, strict=True
            ):
                assert bool(joined & 1) == tone.joined
                assert abs(start * RATE - tone.start) < 0.5
                assert abs(length * RATE - tone.frames) < 0.5
                assert abs(1200 * log2(tone.hz / data["hertz"]) - cents) < 0.001
                assert velocity == tone.velocity
                assert [round(at * RATE) for at, _ in curve] == [at for at, _ in tone.curve]
                pairs = zip(curve, tone.curve, strict=True)
                assert all(abs(one - two) < 0.001 for (_, one), (_, two) in pairs)
            continue
        assert voice["wave"] == ""
        events: list[Stroke | Tone] = [*part.strokes, *part.tones]
        assert len(voice["strokes"]) == len(events)
        for (start, at, velocity), event in zip(voice["strokes"], events, strict=True):
            sound = data["sounds"][voice["sounds"][at]]
            assert abs(start * RATE - event.start) < 0.5 and velocity == event.velocity
            if part.tones:
                assert isinstance(event, Tone) and sound["cents"] is not None
                string = tuned_string_hz(event.hz, event.string)
                assert abs(1200 * log2(string / data["hertz"]) - sound["cents"]) < 0.001
            else:
                assert sound["cents"] is None


@every_piece
def test_a_page_can_play_each_stroke_from_its_sound(name: str) -> None:
    # A gain of (velocity / struck) ** 1.6 makes the stroke; its colour is near enough.
    data, performance = data_of(name), performance_named(name)
    for voice, part in zip(data["voices"], performance.parts, strict=True):
        for (_, at, velocity), stroke in zip(voice["strokes"], part.strokes, strict=False):
            said = voice["sounds"][at].split(" ")
            assert said[-2] == str(stroke.sound)
            assert said[-1] == str(data["sounds"][voice["sounds"][at]]["velocity"])
            near = [
                int(one.split(" ")[-1]) for one in voice["sounds"] if said[-2] == one.split(" ")[-2]
            ]
            assert abs(int(said[-1]) - velocity) == min(abs(one - velocity) for one in near)
            assert len(set(near)) <= 2


@every_piece
def test_turns_fill_the_piece(name: str) -> None:
    band, data = band_of(name), data_of(name)
    clock = clock_of(band.timeline)
    assert data["length"] == round(float(clock.seconds(band.timeline.end)), 5)
    turns = data["turns"]
    assert turns[0]["beats"][0] == 0 and turns[-1]["beats"][-1] == data["length"]
    for one, two in pairwise(turns):
        assert one["beats"][-1] == two["beats"][0]
    numbers = [turn["number"] for turn in turns if turn["kind"] == "cycle"]
    assert numbers == list(range(1, len(numbers) + 1))
    for turn, bar in zip(turns, band.bars, strict=True):
        beats = turn["beats"]
        assert beats == sorted(set(beats))
        if turn["kind"] == "free":
            assert len(beats) == 2 and turn["number"] == 0
            continue
        kind = data["cycles"][turn["cycle"]]
        assert sum(beat["length"] for beat in kind["beats"]) == float(bar.stretch.cycle.beats)
        whole = bar.length == bar.stretch.cycle.beats
        assert (len(beats) == len(kind["beats"]) + 1) == whole or not whole
        for beat, second in zip(kind["beats"], beats[:-1], strict=False):
            at = bar.start + Fraction(beat["at"]).limit_denominator(1000)
            assert second == round(float(clock.seconds(at)), 5)


@every_piece
def test_sections_are_those_of_the_charts(name: str) -> None:
    band, data = band_of(name), data_of(name)
    turns = data["turns"]
    for number, section in enumerate(data["sections"]):
        first, end = section["turns"]
        if first < end:
            assert section["start"] == turns[first]["beats"][0]
            assert section["end"] == turns[end - 1]["beats"][-1]
        box = next(box for box in band.road if box.letter == section["letter"])
        assert abs(float(box.seconds) - (section["end"] - section["start"])) < 1e-4
        for at in range(first, end):
            assert turns[at]["section"] == number and turns[at]["kind"] != "count-in"
    named = [turn["section"] for turn in turns if turn["section"] >= 0]
    assert named == sorted(named)
    counted = [turn for turn in turns if turn["kind"] == "count-in"]
    assert all(turn["section"] == -1 for turn in counted)


def test_a_cycle_of_eleven_beats_and_a_half() -> None:
    data = page_of("{beats: 11 1/2, sections: [4, 4, 3 1/2]}", "  - play: one\n")
    beats = data["cycles"][0]["beats"]
    assert [beat["name"] for beat in beats] == [str(number) for number in range(1, 13)]
    assert beats[-1]["length"] == 0.5 and beats[-1]["at"] == 11
    assert [beat["at"] for beat in beats if beat["opens_section"]] == [0, 4, 8]
    count = data["turns"][0]
    assert count["kind"] == "count-in" and len(count["beats"]) == 13
    assert count["beats"][-2:] == [11.0, 11.5]


def test_the_loop_of_a_section_holds_its_run_up() -> None:
    # From beat 7 of ten: its pickup lies in the turn before, which no count-in takes.
    led = "  led: {begins: 7, sargam: P M G R S - - - - - - - - -}\n"
    sections = page_of("jhaptal", "  - play: one\n  - play: led\n", lines=led)["sections"]
    first, end = sections[1]["turns"]
    assert sections[1]["loop"] == (first - 1, end)
    assert sections[0]["loop"] == sections[0]["turns"]


def test_signs_and_open_sections_of_jhaptal_and_rupak() -> None:
    jhaptal = page_of("jhaptal", "  - play: one\n")["cycles"][0]["beats"]
    assert [beat["sign"] for beat in jhaptal] == ["X", "", "2", "", "", "0", "", "3", "", ""]
    assert [beat["open"] for beat in jhaptal] == [False] * 5 + [True] * 2 + [False] * 3
    assert [beat["syllable"] for beat in jhaptal][:3] == ["dhi", "na", "dhi"]
    rupak = page_of("rupak", "  - play: one\n")["cycles"][0]["beats"]
    assert rupak[0]["sign"] == "0" and rupak[0]["open"]


def test_beats_follow_a_change_of_tempo_within_a_cycle() -> None:
    form = "  - groove: 2\n    tempo: {to: 120}\n  - groove: 1\n"
    turns = page_of("jhaptal", form, "count-in: 0\n")["turns"]
    steps = [two - one for turn in turns[:2] for one, two in pairwise(turn["beats"])]
    assert all(one > two for one, two in pairwise(steps))
    assert 0.9 < steps[0] < 1 and 0.5 < steps[-1] < 0.53
    assert {round(two - one, 4) for one, two in pairwise(turns[2]["beats"])} == {0.5}


def test_a_free_stretch_and_a_last_bar_cut_off() -> None:
    form = "  - free: flute\n    seconds: 7\n  - play: one\n"
    data = page_of("jhaptal", form, "count-in: 0\n")
    assert data["turns"][0]["kind"] == "free" and data["turns"][0]["beats"] == [0, 7]
    assert data["sections"][0]["name"] == "Flute"
    last = data["turns"][-1]
    assert last["beats"][-1] == data["length"]


def test_tonics_on_the_way_and_names() -> None:
    form = "  - play: one\n  - play: one\n    tonic: F\n"
    data = page_of("jhaptal", form)
    assert data["sa"] == "D" and data["key"] == 2 and data["names"][2] == "D"
    assert [section["sa"] for section in data["sections"]] == ["D", "F"]
    assert isclose(data["hertz"], 293.664768, abs_tol=1e-6)
    flute = data["voices"][0]["tones"]
    lows = {tone[2] for tone in flute}
    assert 0.0 in lows and 300.0 in lows


@every_piece
def test_only_what_is_used_is_there(name: str) -> None:
    data = data_of(name)
    used = {one for voice in data["voices"] for one in voice["sounds"]}
    used |= {touch for _, one in data["drone"] for touch in data["sounds"][one]["touches"]}
    assert used == set(data["sounds"])
    assert set(data["waves"]) == {voice["wave"] for voice in data["voices"]} - {""}
    for wave, table in data["waves"].items():
        assert isinstance(table, dict) and table["gain"] == named_voice(wave).gain
    for sound in data["sounds"].values():
        samples, _ = soundfile.read(io.BytesIO(base64.b64decode(sound["flac"])))
        assert samples.ndim == 1 and len(samples)
    text = json.dumps(data)
    assert json.loads(text) == json.loads(json.dumps(page_data(band_of(name).piece, shifts=())))


def test_the_drone_is_there_even_where_nobody_plays_it() -> None:
    data = page_of("jhaptal", "  - play: one\n")
    assert len(data["drone"]) == 4
    mode = read("title: X\nmode: yaman\nlines:\n  a:\n    sargam: S\n").mode
    assert [round(cents / 100) for cents, _ in data["drone"]] == list(string_pitches(mode))
    for cents, name in data["drone"]:
        assert data["sounds"][name]["cents"] == cents
    # P, m and N below the middle Sa, as `drone:` of a mode may have them.
    tones = [(tone, round(cents / 100)) for tone, cents in data["drone_tones"]]
    assert tones == [("P", -17), ("m", -19), ("N", -13)]


def test_a_page_mixes_a_drum_as_the_recording_does() -> None:
    # The strokes laid by what the page knows are the stem of the recording, nearly.
    data, performance = data_of(NAMES[0]), performance_named(NAMES[0])
    for voice, part in zip(data["voices"], performance.parts, strict=True):
        if part.role.name != "theka":
            continue
        frames = 60 * RATE
        real = np.concatenate(list(stem(part, frames))).astype(float)
        made = np.zeros(frames + 10 * RATE)
        for start, at, velocity in voice["strokes"]:
            sound = data["sounds"][voice["sounds"][at]]
            samples, rate = soundfile.read(io.BytesIO(base64.b64decode(sound["flac"])))
            if rate != RATE:
                samples = np.interp(
                    np.arange(2 * len(samples)) / 2, np.arange(len(samples)), samples
                )
            begin = round(start * RATE)
            if begin < frames:
                made[begin : begin + len(samples)] += (
                    samples * (velocity / sound["velocity"]) ** 1.6
                )
        # As loud, and the same on the whole: a bass that is struck harder glides elsewhere.
        made = made[:frames]
        assert abs(10 * np.log10((made**2).sum() / (real**2).sum())) < 1
        alike = (made * real).sum() / np.sqrt((made**2).sum() * (real**2).sum())
        assert alike > 0.75, (part.name, alike)


def test_hostile_texts_stay_text() -> None:
    title = "</script><script>alert(1)</script>\\u2028"
    piece = read(
        f"title: '{title}'\ncomposer: '<b>&\"'\ntonic: D\nmode: yaman\ncycle: jhaptal\n"
        "lines:\n  '<i>&amp;':\n    sargam: S R G M P D N S' N D\nform:\n  - play: '<i>&amp;'\n"
    )
    data = page_data(piece)
    assert data["title"] == title and data["composer"] == '<b>&"'
    assert data["sections"][0]["name"] == "<i>&amp;"
    assert json.loads(json.dumps(data, ensure_ascii=False)) == json.loads(json.dumps(data))
    json.dumps(data, ensure_ascii=False).encode()


def test_a_drone_lower_than_any_string_sounds_an_octave_up() -> None:
    text = (
        "title: Small\ntonic: D\nmode: yaman\ncycle: jhaptal\ntempo: 60\n"
        "players:\n  tanpura: {plays: drone, octave: -3}\n"
        "lines:\n  one:\n    sargam: S R G M P D N S' N D\n"
    )
    data = page_data(read(text), shifts=())
    # The lowest string would be at 9 Hz: below what is heard at all (common practice: 20 Hz).
    assert min(data["hertz"] * 2 ** (cents / 1200) for cents, _ in data["drone"]) >= 20
    strings = [data["sounds"][name]["touches"] for _, name in data["drone"]]
    assert {one for touches in strings for one in touches} == set(data["voices"][0]["sounds"])


def test_a_piece_that_ends_within_its_count_in_has_a_page() -> None:
    text = "title: Small\ntonic: D\nmode: charukeshi\ncycle: tintal\ntempo: 60\n"
    piece = load_text(text + 'lines:\n  a: {begins: 15, sargam: "N, R"}\n', ROOT).piece
    assert piece is not None
    data = page_data(piece, shifts=())
    (section,) = data["sections"]
    assert section["turns"] == (len(data["turns"]), len(data["turns"]))
    assert section["start"] <= section["end"]
