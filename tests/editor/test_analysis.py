"""A text as it is changed has the findings of the text as it stands."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from support.making import FEW_PIECE_SEEDS, ROOT, random_piece, with_heading

from cyclechart.editor.analysis import Analysis
from cyclechart.piece import line_text
from cyclechart.piece.phrase_memory import PhraseMemory

SOUND = "lines:\n  head: {sargam: S R | G m P | d n | S' n d}\n"


@pytest.mark.parametrize("seed", FEW_PIECE_SEEDS[:8])
def test_findings_of_a_changed_text_are_those_of_it_alone(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is taken over from the text before must not be seen in any finding."""
    dice = random.Random(seed)
    text = random_piece(seed)
    before: Analysis | None = None
    for _ in range(8):
        rows = text.split("\n")
        at = dice.randrange(5, len(rows))
        if dice.random() < 0.4:
            rows.insert(dice.randrange(5, len(rows)), "")
        old, new = dice.choice(
            [("S ", "N "), (" P", " m"), ("dha", "ta"), ("times: 2", "times: 3")]
        )
        rows[at] = rows[at].replace(old, new, 1)
        text = "\n".join(rows)
        before = Analysis("x.yaml", text, None, before)
        found = before.findings
        with monkeypatch.context() as here:
            here.setattr(line_text, "_MEMORY", PhraseMemory())
            assert found == Analysis("x.yaml", text, None).findings


def test_lines_that_did_not_change_are_taken_over() -> None:
    text = with_heading("lines:\n  a: {sargam: S R G m}\n  b: {sargam: P d n S'}\n")
    before = Analysis("x.yaml", text, None)
    after = Analysis("x.yaml", text.replace("P d", "P n"), None, before)
    assert before.piece is not None and after.piece is not None
    assert after.piece.lines["a"] is before.piece.lines["a"]
    assert after.piece.lines["b"] is not before.piece.lines["b"]


def test_shared_beside_the_file_is_looked_in() -> None:
    text = (ROOT / "pieces" / "salt-road.yaml").read_text("utf-8")
    inside = Analysis("x.yaml", text, ROOT / "pieces")
    assert [
        one.rule for one in inside.findings if one.severity == "error" and not one.liberty
    ] == []
    assert "unknown-name" in {one.rule for one in Analysis("x.yaml", text, None).findings}


def test_findings_in_shared_files_say_so(tmp_path: Path) -> None:
    (tmp_path / "shared").mkdir()
    (tmp_path / "shared" / "modes.yaml").write_text("mine: {ascent: S R Q}\n", "utf-8")
    found = Analysis("x.yaml", with_heading(SOUND, mode="mine"), tmp_path).findings
    assert any(one.spot.file.endswith("modes.yaml") for one in found)


@pytest.mark.parametrize(
    ("text", "is_piece"),
    [
        (SOUND, True),
        ("title: A\ntonic: D\n", True),
        ("lines:\r\n  a:", True),
        ("\ufefflines: {}\n", True),
        ("title: A\nplayers: b\npieces: [c.yaml]\n", False),
        ("version: 3\nservices:\n  lines: 4\n", False),
        ("title: A\n", False),
        ("", False),
    ],
)
def test_which_texts_are_pieces(text: str, is_piece: bool) -> None:
    assert Analysis("x.yaml", text, None).is_piece == is_piece
