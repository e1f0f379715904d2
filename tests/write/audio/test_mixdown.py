"""The mix: its loudness, its peaks under the ceiling, and every player audible.

Outside: pyloudnorm's loudness (ITU-R BS.1770-4), true peaks by eight times as many samples (annex
2), of the FLAC file and of MP3 and Ogg Vorbis files decoded again.
"""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from itertools import chain, repeat
from pathlib import Path

import numpy as np
import pyloudnorm
import pytest
from support.hearing_sound import RATE, Sound, read_sound, rms_db, true_peak_db
from support.making import DEMO_BOOK, ROOT, load_text, piece_of

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.rehearse.recipes import Rendering
from cyclechart.arrange.rehearse.score_transforms import cycle_starts, only_cycles
from cyclechart.arrange.score import Score
from cyclechart.catalog.roles import COUNT, MELODY, ROLES
from cyclechart.produce.rehearsal_audio import Job, jobs_of, make_one
from cyclechart.write.audio.encoders import Format
from cyclechart.write.audio.mixdown import (
    BLOCK,
    RING_OUT,
    apply_mastering,
    mastering_of,
    part_gains,
    part_level,
    raw_blocks,
    write_raw_mix,
)
from cyclechart.write.audio.performance import PartEvents, Performance, performance_of

TARGET = -16.0
"""LUFS, as AES TD1008 has it for music on phones."""

BAND = """\
count-in: 0
players: {flute: , guitar: , double-bass: , tabla: , drum-kit: , tanpura: }
lines:
  head: {sargam: "S R G m P d n S' n d"}
form: [play: head]
"""


def short(path: Path) -> Score:
    """The first cycles of a demo piece, nine seconds or less."""
    piece = load_text(path.read_bytes(), path.parent).piece
    assert piece is not None
    score = arrange(piece)
    beats = 9 * float(score.tempos[0].tempo) / 60
    starts = [float(at) for at in cycle_starts(score)]
    last = max(1, sum(at < starts[0] + beats for at in starts) - 1)
    return only_cycles(score, 1, last)


def job_of(
    score: Score, folder: Path, kind: Format = "flac", out: frozenset[str] = frozenset()
) -> Job:
    (job,) = jobs_of([Rendering("heard", "", score, out)], folder, kind, "")
    return job


def made(
    score: Score, folder: Path, kind: Format = "flac", out: frozenset[str] = frozenset()
) -> Sound:
    job = job_of(score, folder, kind, out)
    make_one(job)
    return read_sound(job.path)


def raw(performance: Performance, which: list[int], to: Path) -> Sound:
    where = part_gains(performance.parts)
    some = replace(performance, parts=tuple(performance.parts[n] for n in which))
    write_raw_mix(some, [where[n] for n in which], to)
    return np.concatenate(list(raw_blocks(to))).astype(float)


@pytest.fixture(scope="module")
def band() -> Score:
    return arrange(piece_of(BAND, tempo="150"))


@pytest.mark.parametrize(
    ("path", "kind"),
    zip(DEMO_BOOK, chain(("mp3", "ogg"), repeat("flac")), strict=False),
    ids=lambda one: getattr(one, "stem", one),
)
def test_the_demo_book_is_as_loud_as_it_is_to_be(path: Path, kind: Format, tmp_path: Path) -> None:
    sound = made(short(path), tmp_path, kind)
    loudness = pyloudnorm.Meter(RATE, filter_class="DeMan").integrated_loudness(sound)
    assert loudness == pytest.approx(TARGET, abs=0.5)
    # Of what is decoded, too, where it is a lossy file.
    assert true_peak_db(sound) <= -1.0


@pytest.mark.parametrize("players", ["tabla: ", "drum-kit: ", "santoor: , tabla: ", "flute: "])
def test_few_players_are_no_louder_and_have_no_peak_too_high(players: str, tmp_path: Path) -> None:
    text = BAND.replace("flute: , guitar: , double-bass: , tabla: , drum-kit: , tanpura: ", players)
    if "flute" not in players and "santoor" not in players:
        strokes = '{strokes: "dha ge na ti ke dha dha ge na ke"}'
        text = text.replace('{sargam: "S R G m P d n S\' n d"}', strokes)
    score = arrange(piece_of(text, tempo="150"))
    for kind in ("flac", "mp3", "ogg"):
        sound = made(score, tmp_path, kind)
        loudness = pyloudnorm.Meter(RATE, filter_class="DeMan").integrated_loudness(sound)
        assert loudness <= TARGET + 0.5
        assert loudness > TARGET - 12
        assert true_peak_db(sound) <= -1.0, kind


def test_the_band_is_the_sum_of_its_stems(band: Score, tmp_path: Path) -> None:
    performance = performance_of(band)
    every = list(range(len(performance.parts)))
    whole = raw(performance, every, tmp_path / "whole")
    assert len(whole) == performance.frames + RING_OUT
    each = [raw(performance, [n], tmp_path / f"{n}") for n in every]
    assert all(np.abs(one).max() > 0.001 for one in each)
    assert np.abs(sum(each) - whole).max() < 1e-5
    # And without one of them it is the sum of the others.
    without = raw(performance, every[1:], tmp_path / "without")
    assert np.abs(whole - without - each[0]).max() < 1e-5


def test_who_is_left_out_is_not_there(tmp_path: Path) -> None:
    text = (
        "count-in: 0\nplayers: {flute: , tabla: }\n"
        'lines:\n  head: {sargam: "S/2 z z z z z z z z z z"}\nform: [play: head]\n'
    )
    score = arrange(piece_of(text, tempo="60", cycle="{beats: 10 1/2, sections: [4, 4, 2 1/2]}"))
    tabla = next(part for part in score.parts if part.name == "tabla")
    clock = performance_of(score)
    strokes = next(part for part in clock.parts if part.name == "tabla").strokes
    assert len(tabla.hits) == len(strokes)
    with_it, without = made(score, tmp_path), made(score, tmp_path, out=frozenset({"tabla"}))
    late = [stroke.start for stroke in strokes if stroke.start > 2 * RATE]
    assert late
    for at in late:
        assert rms_db(with_it[at : at + RATE // 20]) > -50
        # The flute's half second and the room after it are long over.
        assert rms_db(without[at : at + RATE // 20]) < -90


def test_a_player_stands_where_he_stands_whoever_is_heard(band: Score, tmp_path: Path) -> None:
    where = part_gains(performance_of(band).parts)
    for part, place in zip(performance_of(band).parts, where, strict=True):
        power = place.left**2 + place.right**2
        # Constant power, as is common practice in panning.
        assert 10 * np.log10(power) == pytest.approx(part_level(part), abs=1e-9)
        assert place.room == pytest.approx(10 ** ((part_level(part) + part.role.room) / 20))
    assert all(role.pans for role in (*ROLES.values(), COUNT))
    many = [PartEvents(str(number), MELODY, "reed", (), ()) for number in range(12)]
    assert len(part_gains(many)) == 12


def test_the_same_bytes_again(band: Score, tmp_path: Path) -> None:
    # Of each kind the encoder's own tests show it.
    score = only_cycles(band, 1, 1)
    data = []
    for run in ("a", "b"):
        job = job_of(score, tmp_path / run, "mp3")
        make_one(job)
        data.append(job.path.read_bytes())
    assert data[0] == data[1]


def test_the_same_bytes_in_another_process(band: Score, tmp_path: Path) -> None:
    program = (
        "import sys\nfrom pathlib import Path\nfrom support.making import piece_of\n"
        "import test_mixdown as t\nfrom cyclechart.arrange.arranger import arrange\n"
        "score = arrange(piece_of(t.BAND, tempo='150'))\n"
        "t.make_one(t.job_of(score, Path(sys.argv[1]), 'ogg'))\n"
    )
    subprocess.run(
        [sys.executable, "-c", program, str(tmp_path / "there")], check=True,
        env={"PYTHONPATH": f"{ROOT}:{ROOT}/tests:{ROOT}/tests/write/audio", "PYTHONHASHSEED": "7",
             "OPENBLAS_NUM_THREADS": "1", "PATH": ""},
    )  # fmt: skip
    job = job_of(band, tmp_path / "here", "ogg")
    make_one(job)
    assert job.path.read_bytes() == (tmp_path / "there" / "heard.ogg").read_bytes()


def test_it_fades_over_its_last_second_and_ends_in_nothing(band: Score, tmp_path: Path) -> None:
    sound = made(band, tmp_path)
    assert len(sound) == performance_of(band).frames + RING_OUT
    assert np.abs(sound[-20:]).max() <= 2**-15
    assert np.abs(sound[-RING_OUT:-RATE]).max() > 0.001


def blocks_of(sound: Sound) -> list[np.ndarray]:
    part = sound.astype(np.float32)
    return [part[at : at + BLOCK] for at in range(0, len(part), BLOCK)]


@pytest.mark.parametrize("level", [1e-7, 0.001, 0.3, 1.0, 30.0])
def test_mastering_comes_to_the_target_or_says_so(level: float) -> None:
    dice = np.random.default_rng(4)
    sound = level * dice.standard_normal((8 * RATE, 2)) * np.linspace(0.2, 1, 8 * RATE)[:, None]
    blocks = blocks_of(sound)
    how = mastering_of(lambda: iter(blocks))
    out = np.concatenate(list(apply_mastering(iter(blocks), how, None)))
    if level == 1e-7:
        # Below the gate of -70 LUFS: left as it is.
        assert np.array_equal(out, np.concatenate(blocks))
        return
    found = pyloudnorm.Meter(RATE, filter_class="DeMan").integrated_loudness(out.astype(float))
    assert found == pytest.approx(how.loudness, abs=0.05)
    assert found == pytest.approx(TARGET, abs=0.25)
    assert true_peak_db(out.astype(float)) <= -1.0


def test_clicks_alone_are_not_flattened_to_the_target() -> None:
    sound = np.zeros((10 * RATE, 2))
    sound[:: RATE // 2] = 0.9
    blocks = blocks_of(sound)
    how = mastering_of(lambda: iter(blocks))
    out = np.concatenate(list(apply_mastering(iter(blocks), how, None))).astype(float)
    assert how.loudness < TARGET
    assert true_peak_db(out) <= -1.0
    # A limited gain is what is said: 9 dB over the ceiling at most.
    assert 20 * np.log10(how.factor * 0.9) <= 9.0


def test_silence_stays_silent() -> None:
    blocks = [np.zeros((BLOCK, 2), np.float32)]
    how = mastering_of(lambda: iter(blocks))
    assert not np.concatenate(list(apply_mastering(iter(blocks), how, None))).any()
