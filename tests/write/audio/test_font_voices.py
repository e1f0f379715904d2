"""Players who sound from a sound font: who does, in which tuning, how loud.

Outside: pitches read off the spectrum, loudness by pyloudnorm (ITU-R BS.1770-4); General MIDI's
programs as the instruments of the catalogue have them.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pyloudnorm
import pytest
from support.hearing_sound import RATE, Sound, cents_off, check_mastered, read_sound
from support.making import piece_of
from support.small_font import BAND, Preset, small_font

from cyclechart.arrange.arranger import Arrangement, arrange
from cyclechart.arrange.rehearse.recipes import Rendering
from cyclechart.produce.rehearsal_audio import font_sentences, jobs_of, make_one
from cyclechart.sound.soundfont_file import SoundFont, read_soundfont
from cyclechart.write.audio.font_voices import font_voice, preset_of
from cyclechart.write.audio.performance import Performance, performance_of
from cyclechart.write.audio.sound_options import SoundOptions
from cyclechart.write.audio.stems import stem

pytest.importorskip("tinysoundfont")

TEXT = """\
count-in: 0
players: {flute: , guitar: , double-bass: , tabla: , drum-kit: , tanpura: }
lines:
  head: {sargam: "S - - G - - P - - -"}
form: [play: head]
"""


@pytest.fixture(scope="module")
def band() -> Performance:
    # Plain, for tones that are steady.
    return performance_of(Arrangement(piece_of(TEXT, tempo="60"), plain=True).score, plain=True)


@pytest.fixture
def font(tmp_path: Path) -> SoundFont:
    path = tmp_path / "small.sf2"
    path.write_bytes(small_font(BAND))
    return read_soundfont(path)


def heard(performance: Performance, name: str, font: SoundFont | None) -> Sound:
    (part,) = (part for part in performance.parts if part.name == name)
    return np.concatenate(list(stem(part, performance.frames, False, font))).astype(float)


def loudness(sound: Sound) -> float:
    both = np.stack([sound, sound], axis=1)
    return float(pyloudnorm.Meter(RATE, filter_class="DeMan").integrated_loudness(both))


def test_who_sounds_from_a_font(band: Performance) -> None:
    assert {part.name: preset_of(part) for part in band.parts} == {
        "flute": (0, 73), "guitar": (0, 24), "double-bass": (0, 32), "tabla": None,
        "drum-kit": (128, 0), "tanpura": None,
    }  # fmt: skip


def test_tones_are_in_the_tuning_of_the_piece(band: Performance, font: SoundFont) -> None:
    for name in ("flute", "double-bass"):
        (part,) = (part for part in band.parts if part.name == name)
        sound = heard(band, name, font)
        long = [tone for tone in part.tones if tone.frames > 1.2 * RATE and not tone.curve]
        assert long
        for tone in long:
            start = tone.start / RATE
            assert abs(cents_off(sound, (start + 0.2, start + 1.1), tone.hz)) < 0.5


def test_a_player_from_a_font_is_as_loud_as_before(band: Performance, font: SoundFont) -> None:
    for name in ("flute", "guitar", "double-bass", "drum-kit"):
        # The font's samples do not decay as a plucked string does: their beginning is compared.
        ours, theirs = (loudness(heard(band, name, one)[:RATE]) for one in (None, font))
        assert theirs == pytest.approx(ours, abs=4.0), name
        assert not np.array_equal(heard(band, name, None), heard(band, name, font))


def test_drone_and_hand_drums_keep_their_own_sound(band: Performance, font: SoundFont) -> None:
    for name in ("tabla", "tanpura"):
        assert np.array_equal(heard(band, name, None), heard(band, name, font))


def test_who_is_not_in_the_font_keeps_our_own_voice(band: Performance, tmp_path: Path) -> None:
    path = tmp_path / "flute.sf2"
    path.write_bytes(small_font([Preset(0, 73), Preset(0, 24, level=0.0)]))
    font = read_soundfont(path)
    for name in ("guitar", "double-bass", "drum-kit"):
        (part,) = (part for part in band.parts if part.name == name)
        # The guitar's samples are silence.
        assert font_voice(part, font) is None
        assert np.array_equal(heard(band, name, None), heard(band, name, font))
    rendering = Rendering("x", "", arrange(piece_of(TEXT, tempo="60")))
    options = SoundOptions(font=font)
    said = font_sentences(jobs_of([rendering], tmp_path, "flac", "", options), options)
    assert said == (
        "flute.sf2 has no program 25: guitar keeps our own voice",
        "flute.sf2 has no program 33: double-bass keeps our own voice",
        "flute.sf2 has no drum kit: drum-kit keeps our own voice",
    )


def test_the_file_and_its_key(tmp_path: Path, font: SoundFont) -> None:
    rendering = Rendering("band", "", arrange(piece_of(TEXT, tempo="200")))
    made = []
    for run in ("a", "b"):
        (job,) = jobs_of([rendering], tmp_path / run, "flac", "", SoundOptions(font=font))
        make_one(job)
        made.append(job.path.read_bytes())
    assert made[0] == made[1]
    check_mastered(read_sound(job.path))
    # The same font elsewhere is the same sound; another font of that name is not.
    keys = [
        jobs_of([rendering], tmp_path, "flac", "", SoundOptions(font=one))[0].key
        for one in (
            font,
            font._replace(path=Path("elsewhere.sf2")),
            font._replace(digest="x"),
            None,
        )
    ]
    assert keys[0] == keys[1]
    assert len(set(keys)) == 3


def test_a_performance_knows_programs(band: Performance) -> None:
    programs = {part.name: part.program for part in band.parts}
    assert programs["flute"] == 73
    assert programs["tabla"] is programs["drum-kit"] is None
    assert replace(band.parts[0], program=None) != band.parts[0]
