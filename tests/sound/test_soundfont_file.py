"""Sound font files: whole ones are read, others refused with a reason, never handed on.

Outside: records as the SoundFont Technical Specification 2.04 has them (support.small_font).
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import pytest
from support.making import ROOT
from support.small_font import BAND, Preset, small_font

from cyclechart.sound.soundfont_file import (
    MOST_MEGABYTES,
    BadFont,
    read_soundfont,
)

WHOLE = small_font(BAND)


def read(data: bytes, folder: Path) -> frozenset[tuple[int, int]]:
    path = folder / "font.sf2"
    path.write_bytes(data)
    font = read_soundfont(path)
    assert font.digest == sha256(data).hexdigest()
    return font.presets


def test_the_presets_of_a_font(tmp_path: Path) -> None:
    assert read(WHOLE, tmp_path) == {(0, 73), (0, 24), (0, 32), (128, 0)}
    assert read(small_font([Preset(3, 9)]), tmp_path) == {(3, 9)}


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"", "no SoundFont 2 file"),
        (b"RIFF\x04\0\0\0WAVE", "no SoundFont 2 file"),
        (b"title: not a font\n", "no SoundFont 2 file"),
        (WHOLE[:-10], "cut off"),
        (WHOLE[:400], "cut off"),
        (small_font(BAND, version=3), "version 2"),
        (small_font(BAND, kind=0x11), "compressed"),
        (small_font([]), "no presets"),
        (WHOLE.replace(b"shdr", b"shdx"), "no table shdr"),
        (
            WHOLE.replace(b"phdr" + (38 * 5).to_bytes(4, "little"), b"phdr\xff\xff\xff\x7f"),
            "cut off",
        ),
    ],
)
def test_what_is_no_font_is_refused(data: bytes, reason: str, tmp_path: Path) -> None:
    with pytest.raises(BadFont, match=reason):
        read(data, tmp_path)


def test_tables_that_name_what_is_not_there_are_refused(tmp_path: Path) -> None:
    for table, at in (
        ("pgen", 2),
        ("igen", 6),
        ("inst", 20),
        ("ibag", 4),
        ("pbag", 4),
        ("shdr", 24),
    ):
        place = WHOLE.index(table.encode()) + 8 + at
        broken = WHOLE[:place] + b"\xf0\xff" + WHOLE[place + 2 :]
        with pytest.raises(BadFont, match=table):
            read(broken, tmp_path)


def test_a_huge_file_and_no_file_are_refused_unread(tmp_path: Path) -> None:
    huge = tmp_path / "huge.sf2"
    with huge.open("wb") as file:
        file.truncate((MOST_MEGABYTES + 1) << 20)
    with pytest.raises(BadFont, match="larger than"):
        read_soundfont(huge)
    os.mkfifo(tmp_path / "pipe.sf2")
    with pytest.raises(BadFont, match="no file"):
        read_soundfont(tmp_path / "pipe.sf2")
    with pytest.raises(OSError, match="No such file"):
        read_soundfont(tmp_path / "none.sf2")


def test_a_spoiled_font_never_brings_the_program_down(tmp_path: Path) -> None:
    """What passes is played: in a process of its own, for the library could crash it."""
    pytest.importorskip("tinysoundfont")
    dice = random.Random(5)
    tables = WHOLE.index(b"pdta")
    passed = 0
    for number in range(300):
        data = bytearray(WHOLE)
        for _ in range(dice.randint(1, 4)):
            data[dice.randrange(tables, len(data))] = dice.choice((0, 1, 127, 128, 255))
        try:
            read(bytes(data), tmp_path)
        except BadFont:
            continue
        passed += 1
        (tmp_path / f"{number}.sf2").write_bytes(data)
    assert 20 < passed < 300
    (tmp_path / "font.sf2").unlink()
    program = (
        "import sys\nfrom pathlib import Path\n"
        "from cyclechart.sound.font_player import FontPreset\n"
        "from cyclechart.sound.soundfont_file import read_soundfont\n"
        "for path in sorted(Path(sys.argv[1]).glob('*.sf2')):\n"
        "    font = read_soundfont(path)\n"
        "    for bank, program in sorted(font.presets):\n"
        "        FontPreset(path, font.digest, bank, program).tone(300.0, 4000, 90)\n"
        "print('played')\n"
    )
    result = subprocess.run(
        [sys.executable, "-c", program, str(tmp_path)], capture_output=True, text=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False,
    )  # fmt: skip
    assert result.stdout == "played\n", result.stderr[-2000:]
