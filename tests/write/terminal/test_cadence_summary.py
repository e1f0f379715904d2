"""The report on the cadences of a piece is true."""

from __future__ import annotations

import pytest
from support.making import piece_of

from cyclechart.write.terminal.cadence_summary import as_text

PIECE = 'lines:\n  out: {{cadence: {{sargam: "{}", gap: {}}}}}\nform: [play: out]\n'


@pytest.mark.parametrize(
    ("written", "gap", "told"),
    [
        # The last of two strokes in a beat lasts half of it: then comes the gap, which is silent.
        ("S R Gm P dn", "1/4", "silence between 1/4, stroke to stroke 3/4"),
        ("S R Gm P dn", "0", "silence between 0, stroke to stroke 1/2"),
        ("S R G m P", "1", "silence between 1, stroke to stroke 2"),
        ("S R G m P -", "1", "silence between 2, stroke to stroke 3"),
    ],
)
def test_the_silence_between_statements(written: str, gap: str, told: str) -> None:
    said = as_text(piece_of(PIECE.format(written, gap), cycle="tintal"))
    assert f"  {told}\n" in said
