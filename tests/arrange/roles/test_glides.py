"""Which notes glide: to every other pitch that a bend reaches, up or down, and to no other."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from support.timelines import HERE, mode

from cyclechart.arrange.roles.ornaments import note_sounds
from cyclechart.piece.note import Note
from cyclechart.theory.tuning import EQUAL


@pytest.mark.parametrize("by", range(-26, 27))
def test_a_glide_comes_to_the_next_pitch(by: int) -> None:
    note = Note(F(0), F(2), HERE, pitch=5, glides=True)
    after = Note(F(2), F(1), HERE, pitch=5 + by)
    (heard,) = note_sounds(note, after, F(0), F(2), F(60), 90, mode("yaman"), EQUAL)
    assert heard.length == 2
    if 1 <= abs(by) <= 23:
        assert heard.curve[-1] == (2, pytest.approx(by))
    else:
        assert heard.curve == ()
