"""The text of a draft reads back as what went in."""

from __future__ import annotations

import yaml
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.draft.piece_text import DraftKey, DraftLine, DraftPiece, piece_text, scalar


@given(st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Zl", "Zp"))))
def test_a_scalar_is_read_back_alike(text: str) -> None:
    """PyYAML's base loader keeps every scalar as its text."""
    assert yaml.load(f"key: {scalar(text)}  # x\n", yaml.BaseLoader) == {"key": text}


def test_a_piece_has_all_its_parts_in_order() -> None:
    line = DraftLine("head", "sargam", ("S R | G m",), (DraftKey("begins", "1"),), ("A line.",))
    draft = DraftPiece(
        ("A piece.",),
        (DraftKey("title", "Ferry #1"), DraftKey("tempo", "92", "beats a minute")),
        (DraftKey("tanpura", "{plays: drone}", ready=True),),
        (line,),
        ((DraftKey("play", "head"), DraftKey("times", "2")),),
    )
    text = piece_text(draft)
    assert yaml.load(text, yaml.BaseLoader) == {
        "title": "Ferry #1",
        "tempo": "92",
        "players": {"tanpura": {"plays": "drone"}},
        "lines": {"head": {"begins": "1", "sargam": "S R | G m\n"}},
        "form": [{"play": "head", "times": "2"}],
    }
    assert text.startswith("# A piece.\ntitle:") and "  # beats a minute" in text
