"""How loud and how long the notes of a line sound: hairpins, slurs, cut-offs.

A hairpin changes "gradually" up to the next dynamic (E. Gould, Behind Bars, dynamics; from memory);
that it is even in time, one step where no dynamic follows, and the other figures are our choice.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from support.making import piece_of

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.roles.line_levels import SLURRED
from cyclechart.arrange.roles.melody_sounds import LOUDNESS, PLAIN
from cyclechart.arrange.score import Sound


def sounds_of(sargam: str, step: str = "") -> tuple[Sound, ...]:
    text = f"lines:\n  head:\n    sargam: |\n      {sargam}\nform:\n  - {{play: head{step}}}\n"
    score = arrange(piece_of(text, cycle="keherwa", mode="kafi"), plain=True)
    return next(part for part in score.parts if part.role.plays_melody).sounds


def levels_of(sargam: str, step: str = "") -> list[int]:
    return [sound.velocity for sound in sounds_of(sargam, step)]


P, MP, MF, F, FF = (LOUDNESS[name] for name in ("p", "mp", "mf", "f", "ff"))


@pytest.mark.parametrize(
    ("sargam", "expected"),
    [
        ("!p!!cresc!S - - - P - - - || !f!S - - - - - - -", [P, (P + F) // 2, F]),
        ("!f!!dim!S - - - P - - - || !p!S - - - - - - -", [F, (P + F) // 2, P]),
        ("!cresc!S - - - P - - - || S - - - - - - -", [PLAIN, (PLAIN + F) // 2, F]),
        ("!dim!S - - - P - - - || S - - - - - - -", [PLAIN, (PLAIN + MP) // 2, MP]),
        ("!mf!!cresc!S - - - P - - - || !p!S - - - - - - -", [MF, (MF + F) // 2, P]),
        ("!cresc!S - - - !dim!P - - - || S - - - - - - -", [PLAIN, F, MF]),
        ("!ff!!cresc!S - - - P - - - || S - - - - - - -", [FF, 122, 127]),
    ],
)
def test_a_hairpin_goes_evenly_to_the_next_dynamic_or_one_step(
    sargam: str, expected: list[int]
) -> None:
    assert levels_of(sargam) == expected


def test_a_hairpin_never_goes_back() -> None:
    levels = levels_of("!pp!!cresc!S-R GmP d n | S'ndP m G [R S R]x3 || !ff!S - - - - - - -")
    assert levels == sorted(levels) and levels[0] == LOUDNESS["pp"] and levels[-1] == FF
    assert len(set(levels)) > 10


def test_a_hairpin_begins_at_the_level_of_the_step() -> None:
    levels = levels_of("!cresc!S - - - P - - - || !f!S - - - - - - -", ", dynamics: pp")
    assert levels[0] == LOUDNESS["pp"]


def test_slurred_notes_are_struck_softer_and_last_as_long() -> None:
    plain = sounds_of("S R g m P - - z || S - - - - - - -")
    slurred = sounds_of("(S R g) m (P - - z || S) - - - - - - -")
    assert [a.velocity - b.velocity for a, b in zip(plain, slurred, strict=True)] == [
        0, SLURRED, SLURRED, 0, 0, SLURRED,
    ]  # fmt: skip
    assert [s.length for s in plain] == [s.length for s in slurred]
    for before, after in pairwise(slurred[:3]):
        assert before.start + before.length == after.start


def test_a_cut_note_stops_short_and_silence_follows() -> None:
    (first, second, *_) = sounds_of("!cut!S - - - !cut!!staccato!P - - - || S - - - - - - -")
    assert first.length == 3
    assert second.length == Fraction(3, 2), "half of what is left"
    assert second.start == first.start + 4


def test_a_cut_note_glides_nowhere() -> None:
    (first, second, *_) = sounds_of("!cut!S~ - - - P - - - || S - - - - - - -")
    assert first.length == 3 and not first.curve and second.text == "P"


STROKES = """\
players:
  tabla: {{plays: theka}}
lines:
  beat:
    strokes: |
      {text}
form:
  - play: beat
"""


def tabla_hits(text: str) -> list[tuple[Fraction, Fraction, int]]:
    piece = piece_of(STROKES.format(text=text), cycle="keherwa")
    (part,) = (part for part in arrange(piece, plain=True).parts if part.name == "tabla")
    return [(hit.start, hit.length, hit.velocity) for hit in part.hits]


def test_strokes_grow_under_a_hairpin_and_are_cut() -> None:
    plain = tabla_hits("na na na na na na na na")
    grown = tabla_hits("!pp!!cresc!na na na na na na na !ff!!cut!na")
    lifts = [b[2] - a[2] for a, b in zip(plain, grown, strict=True)]
    assert lifts == sorted(lifts) and lifts[0] == -30 and lifts[-1] == 14
    assert [b[1] / a[1] for a, b in zip(plain, grown, strict=True)] == [1] * 7 + [Fraction(3, 4)]


def test_dynamics_without_a_hairpin_leave_strokes_as_they_were() -> None:
    assert tabla_hits("!pp!na na na na na na na na") == tabla_hits("na na na na na na na na")
