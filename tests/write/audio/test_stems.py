"""The sound of each player, read back from the file: in tune and in time, whatever the blocks.

Outside: spectra and first samples of the FLAC files, against ratio × Sa and the timeline's seconds.
The limits: 0.5 cents is a tenth of what practised ears tell apart (some 5 cents, common knowledge;
from memory), 1 ms less than they do of two onsets (some 2 ms; from memory).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from support.hearing_sound import RATE, Sound, cents_off, onset_seconds, read_sound, rms, rms_db
from support.making import piece_of

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.clock import clock_of
from cyclechart.arrange.rehearse import recipes as rehearsing
from cyclechart.arrange.rehearse.recipes import Rendering, drone_alone
from cyclechart.arrange.unroller import unroll
from cyclechart.catalog.roles import MELODY, THEKA
from cyclechart.piece.model import Piece
from cyclechart.produce.rehearsal_audio import jobs_of, make_one
from cyclechart.write.audio import stems
from cyclechart.write.audio.mixdown import part_gains, raw_blocks, write_raw_mix
from cyclechart.write.audio.performance import PartEvents, Performance, Stroke, Tone, performance_of

SA = 440 * 2 ** ((62 - 69) / 12)
"""D above middle C: key 62 (MIDI 1.0), A4 = 440 (ISO 16)."""
LONG = 'count-in: 0\nlines:\n  a: {sargam: "S - - - G - - - P -"}\n'


def file_of(piece: Piece, folder: Path, out: frozenset[str] = frozenset()) -> Sound:
    (job,) = jobs_of(
        [Rendering("heard", "", arrange(piece, plain=True), out)], folder, "flac", "", plain=True
    )
    make_one(job)
    return read_sound(job.path)


def all_of(part: PartEvents, frames: int, seamless: bool = False) -> NDArray[np.float32]:
    return np.concatenate(list(stems.stem(part, frames, seamless)))


@pytest.mark.parametrize(
    ("player", "extra"),
    [("oboe", {}), ("harmonium", {}), ("oboe", {"tuning": "equal"}),
     ("harmonium", {"tuning": "{G: 81/64, P: 700.5}"})],
)  # fmt: skip
def test_held_notes_are_their_ratio_over_sa(
    player: str, extra: dict[str, str], tmp_path: Path
) -> None:
    piece = piece_of(f"players: {{{player}: }}\n{LONG}", mode="yaman", tempo="75", **extra)
    mono = file_of(piece, tmp_path).mean(axis=1)
    third, fifth = {
        None: (5 / 4, 3 / 2),
        "equal": (2 ** (4 / 12), 2 ** (7 / 12)),
        "{G: 81/64, P: 700.5}": (81 / 64, 2 ** (700.5 / 1200)),
    }[extra.get("tuning")]
    # 0.8 s a beat: four beats, four, two; the ring of a room is no part of what is measured.
    for (start, end), ratio in (((0, 3.2), 1), ((3.2, 6.4), third), ((6.4, 8.0), fifth)):
        for partial in (1, 2, 3):
            off = cents_off(mono, (start + 0.5, end - 0.1), SA * ratio * partial)
            assert abs(off) < 0.5, (ratio, partial)


def test_the_drones_partials_are_whole_multiples_of_its_strings(tmp_path: Path) -> None:
    piece = piece_of(f"players: {{oboe: , tanpura: }}\n{LONG}", mode="yaman", tempo="30")
    mono = file_of(piece, tmp_path, frozenset({"oboe"})).mean(axis=1)
    # Low Sa, and Pa of the octave below middle Sa.
    for hz in (SA / 4, SA / 4 * 3 / 2):
        for partial in (1, 2, 3, 5):
            assert abs(cents_off(mono, (1.0, 18.0), hz * partial)) < 0.5, (hz, partial)


SPARSE = """\
count-in: 0
lines:
  a: {strokes: "ke z z z z z z z na z z z z z z z"}
form: [play: a]
"""


def test_strokes_begin_when_the_timeline_has_them(tmp_path: Path) -> None:
    piece = piece_of(f"players: {{tabla: }}\n{SPARSE}", cycle="tintal", tempo="97")
    sound = file_of(piece, tmp_path)
    (part,) = arrange(piece).parts
    clock = clock_of(unroll(piece))
    at = [float(clock.seconds(hit.start)) for hit in part.hits]
    # Those that nothing rings into.
    alone = [one for one in at if not any(one - 2 < other < one for other in at)]
    assert len(alone) >= 2
    for one in alone:
        assert abs(onset_seconds(sound, one)) < 0.001


@pytest.mark.parametrize("player", ["santoor", "sitar", "piano"])
def test_plucked_notes_begin_when_the_timeline_has_them(player: str, tmp_path: Path) -> None:
    text = (
        f"players: {{{player}: {{plays: melody}}}}\ncount-in: 0\n"
        'lines:\n  a: {sargam: "S z z z P/2 z z z z z z"}\n'
    )
    piece = piece_of(text, tempo="53", cycle="{beats: 10 1/2, sections: [4, 4, 2 1/2]}")
    sound = file_of(piece, tmp_path)
    clock = clock_of(unroll(piece))
    (part,) = arrange(piece).parts
    assert len(part.sounds) == 2
    for one in part.sounds:
        assert abs(onset_seconds(sound, float(clock.seconds(one.start)))) < 0.001


@pytest.mark.parametrize("player", ["flute", "oboe", "violin", "alto"])
def test_blown_and_bowed_notes_are_heard_soon_after_it(player: str, tmp_path: Path) -> None:
    piece = piece_of(f"players: {{{player}: }}\n{LONG}", mode="yaman", tempo="75")
    assert -0.001 < onset_seconds(file_of(piece, tmp_path), 0.0) < 0.02


MANY = """\
players: {flute: , guitar: , double-bass: , tabla: , drum-kit: , tanpura: }
lines:
  head: {sargam: "S {R}G m~P P | !trill!d n S' SRGm n d"}
form: [{play: head, tempo: {to: 160}}]
"""


@pytest.fixture(scope="module")
def many() -> Performance:
    return performance_of(arrange(piece_of(MANY, tempo="140")))


@pytest.mark.parametrize("seamless", [False, True])
def test_blocks_and_a_full_cache_make_no_difference(
    many: Performance, seamless: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = [all_of(part, many.frames, seamless) for part in many.parts]
    assert all(len(wave) == many.frames and wave.any() for wave in whole)
    monkeypatch.setattr(stems, "BLOCK", 10_007)
    monkeypatch.setattr(stems, "MOST_CACHED", 1)
    for part, wave in zip(many.parts, whole, strict=True):
        assert np.abs(all_of(part, many.frames, seamless) - wave).max() < 1e-6


def test_a_seamless_stem_has_all_that_rings_over_its_end(
    many: Performance, monkeypatch: pytest.MonkeyPatch
) -> None:
    # A drone's strings are then tuned to whole periods in the round, which is another matter.
    monkeypatch.setattr(stems.strings, "tuned_string_hz", lambda hz, string, loop: hz)
    for part in many.parts:
        ringing = all_of(part, many.frames + 6 * RATE)
        around = ringing[: many.frames].copy()
        around[: 6 * RATE] += ringing[many.frames :]
        assert np.abs(all_of(part, many.frames, seamless=True) - around).max() < 1e-5


def test_a_stem_is_as_long_as_it_is_asked_for() -> None:
    part = PartEvents("x", MELODY, "organ", (Tone(0, 500, 300.0, 80),), ())
    for frames in (0, 1, 499, 100_000):
        assert sum(map(len, stems.stem(part, frames))) == frames
    late = PartEvents("x", THEKA, "tabla", (), (Stroke(5000, "na", 80),), 300.0)
    assert not all_of(late, 5000).any()
    assert all_of(late, 5100).any()


def test_a_drone_below_every_string_is_an_octave_or_more_higher() -> None:
    piece = piece_of("players: {flute: , tanpura: {octave: -3}}\n" + LONG, mode="yaman")
    part = next(p for p in performance_of(arrange(piece)).parts if p.role.name == "drone")
    assert min(tone.hz for tone in part.tones) < 20
    assert rms(all_of(part, 2 * RATE).astype(float)) > 0.001


@pytest.mark.parametrize("player", ["tanpura", "shruti-box"])
def test_the_drone_joins_its_own_beginning(
    player: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(rehearsing, "ROUND_SECONDS", 36)
    alone = drone_alone(piece_of(f"players: {{flute: , {player}: }}\n{LONG}", mode="yaman"))
    performance = performance_of(alone.score)
    assert performance.frames == 36 * RATE
    raw = tmp_path / "drone.raw"
    write_raw_mix(performance, part_gains(performance.parts), raw, seamless=True)
    sound = np.concatenate(list(raw_blocks(raw))).astype(float)
    assert len(sound) == performance.frames
    twice = np.concatenate([sound, sound])
    seam = len(sound)
    steps = np.abs(np.diff(twice[seam - 3000 : seam + 3000], axis=0)).max(axis=1)
    assert steps[2999] <= np.delete(steps, 2999).max()
    # From 200 ms before the seam to 200 ms after it: as everywhere at that place of the four plucks
    # (the round is a whole number of them, of 4.5 s).
    each = [
        rms_db(twice[seam + at - RATE // 5 : seam + at + RATE // 5])
        for at in (round(4.5 * RATE) * number for number in range(-4, 5))
    ]
    assert abs(each[4] - np.median(each)) < 1.0


def test_the_drone_file_is_whole_rounds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    piece = piece_of(f"players: {{flute: , tanpura: }}\n{LONG}", mode="yaman")
    alone = drone_alone(piece)
    assert alone.rounds * performance_of(alone.score).frames == 30 * 60 * RATE
    monkeypatch.setattr(rehearsing, "ROUND_SECONDS", 18)
    (job,) = jobs_of([replace(drone_alone(piece), rounds=3)], tmp_path, "flac", "")
    make_one(job)
    sound = read_sound(job.path)
    assert len(sound) == 3 * 18 * RATE
    # 16 bits: a step of rounding.
    first, second, third = np.split(sound, 3)
    assert np.abs(first - second).max() <= 2**-14
    assert np.abs(second - third).max() <= 2**-14
