"""A band with chords, a riff and a kit as it sounds: in the tuning of the piece, each drum audible.

Just intonation: G is 5/4 and P 3/2 of Sa (from memory, as in any handbook of acoustics).
"""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner
from support.hearing_sound import RATE, Sound, cents_off, read_sound, rms_db

from cyclechart import cli

SA = 440 * 2 ** (-7 / 12)
"""D above the middle C, hertz."""
COUNT_IN = 4.0
"""Seconds of a cycle of eight beats at 120."""
PIECE = """\
title: Sounding
tonic: D
mode: charukeshi
cycle: keherwa
tempo: 120
players: {guitar: {plays: voicings}, double-bass: {plays: pedal}, drum-kit: }
lines:
  hold: {chords: "D - - - | - - - -", rhythm: written}
  riff: {sargam: "S - - - | G - - -"}
  kit: {kit: "t z m z | l z c b"}
form: [play: {guitar: hold, double-bass: riff, drum-kit: kit}]
"""


def sound_of(folder: Path, player: str) -> Sound:
    """What one player sounds, from the backing track without the others."""
    piece = folder / "sounding.yaml"
    piece.write_text(PIECE)
    others = ",".join({"guitar", "double-bass", "drum-kit"} - {player})
    words = ["backing", str(piece), "--as", "wav", "--without", others, "--no-click"]
    run = CliRunner().invoke(cli.cli, [*words, "--to", str(folder)])
    assert run.exit_code == 0, run.output
    (path,) = (folder / "sounding").glob("*.wav")
    return read_sound(path)


@pytest.mark.parametrize(
    ("player", "seconds", "ratio"),
    [
        ("double-bass", (0.3, 1.8), 1 / 4), ("double-bass", (2.3, 3.8), 5 / 16),
        ("guitar", (0.5, 3.5), 1), ("guitar", (0.5, 3.5), 5 / 4), ("guitar", (0.5, 3.5), 3 / 2),
    ],
)  # fmt: skip
def test_riff_and_chord_are_in_the_tuning_of_the_piece(
    player: str, seconds: tuple[float, float], ratio: float, tmp_path: Path
) -> None:
    sound = sound_of(tmp_path, player).mean(axis=1)
    begin, end = seconds
    assert abs(cents_off(sound, (COUNT_IN + begin, COUNT_IN + end), SA * ratio)) < 1


def test_every_drum_of_the_kit_is_audible(tmp_path: Path) -> None:
    sound = sound_of(tmp_path, "drum-kit")
    for beat in (0, 2, 4, 6, 7):  # the toms, the crash, the bell
        begin = round((COUNT_IN + beat / 2) * RATE)
        assert rms_db(sound[begin : begin + RATE // 5]) > -30, beat
