"""Hints at first beats and at the ends of lines."""

from __future__ import annotations

import pytest
from support.making import piece_of

from cyclechart.editor.inlay_hints import hints


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("{sargam: S R | G m P | d n | S' n d}", ["loops: 1 cycle"]),
        ("{sargam: S R | G m P | d n | S' n d || S}", ["2", "lands: cycle 2, beat 1"]),
        ("{sargam: S R | G m P | d n | S' -}", ["misses: cycle 1, beat 8"]),
        ("{begins: 9, sargam: d n || S' - | n d P | m G | R - - ||}", ["1", "loops: 1 cycle"]),
        ("{lands: free, sargam: S R || G}", []),
        ("{sargam: S R | G m P | d n | S' n d/2}", ["early: cycle 1, beat 10"]),
        ("{sargam: (S - | - - - | - - | - - - ||)*3 S}", ["2", "lands: cycle 4, beat 1"]),
        ("{cadence: {sargam: P m GR G}}", []),
    ],
)  # fmt: skip
def test_hints_of_a_line(line: str, said: list[str]) -> None:
    piece = piece_of(f"lines:\n  head: {line}\n")
    assert [hint.text for hint in hints(piece)] == said
