"""Practice patterns: the mode's own movement, whole cycles, a landing."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from support.catalogue import MODE_NAMES, mode
from support.making import findings_of

from cyclechart.theory.drill import PATTERNS, Drill, drills
from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.tones import show_path
from cyclechart.theory.turns import turns
from cyclechart.write.terminal.drill_yaml import as_piece


def named(name: str, pattern: str, beats: F = F(8)) -> Drill | None:
    return next((one for one in drills(mode(name), beats) if one.name == pattern), None)


def said(name: str, pattern: str) -> list[str]:
    found = named(name, pattern)
    assert found is not None
    return [show_path(beat).replace(" ", "") for beat in found.beats if beat]


# 12 23 34, 123 234 345 and 1234 2345 in the plain scale stand in every book of exercises (common
# practice).
@pytest.mark.parametrize(
    ("pattern", "groups"),
    [
        ("straight", "S R G m P D N S' S' N D P m G R"),
        ("twos", "SR RG Gm mP PD DN NS' S' S'N ND DP Pm mG GR RS"),
        ("threes", "SRG RGm GmP mPD PDN DNS' S' S'ND NDP DPm PmG mGR GRS"),
        ("skips", "SG Rm GP mD PN DS' S' S'D NP Dm PG mR GS"),
    ],
)
def test_the_plain_scale(pattern: str, groups: str) -> None:
    assert said("bilawal-thaat", pattern) == groups.split()


def test_what_the_ascent_leaves_out_stays_out() -> None:
    # Bhimpalasi leaves out R and D rising (public raga pages).
    groups = said("bhimpalasi", "twos")
    top = groups.index("S'")
    assert not {"R", "D"} & set("".join(groups[:top]))
    assert {"R", "D"} <= set("".join(groups[top:]))
    # In threes the falling groups would turn on them: D is the top of m P … D P m.
    assert named("bhimpalasi", "threes") is None


def test_a_winding_mode_is_practised_in_pieces_of_its_paths() -> None:
    # Darbari comes down d n P and g m R S (Sitar Malika p. 220): thirds would break both.
    names = {drill.name for drill in drills(mode("darbari"), F(16))}
    assert {"pieces", "phrases", "long-tones"} <= names
    assert not names & {"threes", "fours", "skips"}
    pieces = named("darbari", "pieces", F(16))
    assert pieces is not None
    for breath in pieces.breaths:
        assert not list(judge_breath(mode("darbari"), breath))


@pytest.mark.parametrize("name", MODE_NAMES)
def test_every_drill_of_every_mode_is_silent_under_the_rules(name: str) -> None:
    """Not one finding, advice among them, on the piece that the command prints."""
    found = drills(mode(name), F(16))
    assert found
    text = as_piece(found, title=name, tonic="C", mode=name, cycle="tintal", tempo=F(72))
    assert [(one.rule, one.message) for one in findings_of(text)] == []


@pytest.mark.parametrize("name", MODE_NAMES[::7])
@pytest.mark.parametrize("beats", [F(7), F(23, 2), F(27, 4), F(5, 4)], ids=str)
def test_every_drill_moves_as_the_mode_does_and_lands(name: str, beats: F) -> None:
    for made in drills(mode(name), beats):
        assert len(made.beats) % beats == 0
        for breath in made.breaths:
            assert not list(judge_breath(mode(name), breath))
            assert not list(turns(mode(name), breath))


def test_most_modes_have_a_good_number_of_patterns() -> None:
    counts = [len(drills(mode(name), F(16))) for name in MODE_NAMES]
    assert min(counts) >= 3
    assert sum(counts) / len(counts) > 5
    assert all(any(d.name in PATTERNS for d in drills(mode(n), F(16))) for n in ("yaman", "kafi"))


def test_the_breaths_of_a_drill_are_what_stands_between_its_rests() -> None:
    held = Drill("one", ((0, 2), (), (4,), None, (5,), None, None, (), (7,)))
    assert held.breaths == ((0, 2, 4), (5,), (7, 0))
    assert Drill("ends with a rest", ((2,), None)).breaths == ((2,), (0,))
    assert Drill("begins with rests", (None, None, (2,))).breaths == ((2, 0),)
