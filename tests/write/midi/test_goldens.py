"""Whole outputs as text, in tests/golden: any change in them is intended or is a mistake.

To renew them after an intended change: ``python tests/write/midi/test_goldens.py``.
"""

from __future__ import annotations

import io
import re
import sys
from collections.abc import Callable
from pathlib import Path

import mido
import pytest

ROOT = Path(__file__).parents[3]
sys.path.insert(0, str(ROOT / "tests"))

from support.midi_files import midi_bytes  # noqa: E402

from cyclechart.arrange.arranger import arrange  # noqa: E402
from cyclechart.arrange.sheet.lead_sheet import sheet_of  # noqa: E402
from cyclechart.piece.load import load  # noqa: E402
from cyclechart.piece.model import Piece  # noqa: E402
from cyclechart.write.musicxml.document import score_xml  # noqa: E402

GOLDEN = ROOT / "tests" / "golden"


def midi_as_text(piece: Piece) -> str:
    """Every message of every track, a line each."""
    file = mido.MidiFile(file=io.BytesIO(midi_bytes(arrange(piece))), charset="utf-8")
    lines = [f"type {file.type}, {file.ticks_per_beat} ticks a beat"]
    for number, track in enumerate(file.tracks):
        lines.append(f"track {number}")
        lines += [f"  {message}" for message in track]
    return "\n".join(lines) + "\n"


def musicxml_as_text(piece: Piece) -> str:
    """The file, with our version pinned."""
    text = score_xml(sheet_of(piece)).decode("utf-8")
    return re.sub(r"<software>cyclechart [^<]*<", "<software>cyclechart VERSION<", text)


KINDS: dict[str, Callable[[Piece], str]] = {"mid.txt": midi_as_text, "musicxml": musicxml_as_text}
STEMS = ("lock-eleven", "salt-road")


def made(stem: str, kind: str) -> str:
    piece = load(ROOT / "pieces" / f"{stem}.yaml", ["foreign-tone"]).piece
    assert piece is not None
    return KINDS[kind](piece)


@pytest.mark.parametrize("stem", STEMS)
@pytest.mark.parametrize("kind", KINDS)
def test_the_output_is_the_golden_one(stem: str, kind: str) -> None:
    assert made(stem, kind) == (GOLDEN / f"{stem}.{kind}").read_text("utf-8")


if __name__ == "__main__":
    for stem in STEMS:
        for kind in KINDS:
            (GOLDEN / f"{stem}.{kind}").write_text(made(stem, kind), "utf-8")
