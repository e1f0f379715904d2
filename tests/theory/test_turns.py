"""Straight moves and turns: how-it-judges.md, 'The mode's grammar'."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.mode import Mode
from cyclechart.theory.tones import SEMITONE
from cyclechart.theory.turns import turns, ways_between


def path(text: str) -> tuple[int, ...]:
    return tuple(
        SEMITONE[tone[0]] + 12 * tone.count("'") - 12 * tone.count(",") for tone in text.split()
    )


def mode(ascent: str, descent: str, *phrases: str) -> Mode:
    return Mode(
        name="a mode", ascent=path(ascent), descent=path(descent), phrases=tuple(map(path, phrases))
    )


# Sitar Malika p. 244; public raga pages; Sangeet Visharad p. 92 for the plain scale.
MARWA = mode("N, r G M D N D S'", "S' N D M G r S")
BHIMPALASI = mode("n, S g m P n S'", "S' n D P m g R S")
BILAWAL = mode("S R G m P D N S'", "S' N D P m G R S")


def told(judged: Mode, text: str) -> list[tuple[int, str, str]]:
    return [(turn.index, turn.what, turn.going) for turn in turns(judged, path(text))]


@pytest.mark.parametrize(
    ("judged", "text", "expected"),
    [
        (MARWA, "D N S'", [(1, "turn-skipped", "up")]),
        (MARWA, "D N D S'", []),
        (MARWA, "N r' G'", []),  # read on through the octave, from the N that both copies have
        (MARWA, "G D", []),  # everything between rises
        (MARWA, "S r", [(0, "turn-skipped", "up")]),  # S is the end of its ascent, not a beginning
        (BHIMPALASI, "P D P", [(1, "turns-on-left-out", "up")]),
        (BHIMPALASI, "P D D", [(1, "turns-on-left-out", "up")]),
        (BHIMPALASI, "P D n", []),  # a tone passed is another rule's business
        (BHIMPALASI, "n D P", []),
        (BHIMPALASI, "P d P", []),  # so is a tone that it does not have at all
        (BHIMPALASI, "S' g'", []),
        (mode("N, r G M D N D S'", "S' N D M G r S", "M D N S'"), "D N S'", []),
        (mode("n, S g m P n S'", "S' n D P m g R S", "P D P"), "P D P", []),
    ],
)
def test_turns(judged: Mode, text: str, expected: list[tuple[int, str, str]]) -> None:
    assert told(judged, text) == expected


@given(st.lists(st.integers(-12, 24), max_size=12))
def test_the_plain_scale_has_no_turn(pitches: list[int]) -> None:
    in_scale = [pitch for pitch in pitches if pitch % 12 in BILAWAL.up]
    assert not list(turns(BILAWAL, in_scale))


def test_a_mode_says_its_own_way() -> None:
    assert next(ways_between(MARWA, path("D N S'"), 1)) == path("N D S'")
    assert next(ways_between(MARWA, path("D' N' S''"), 1)) == path("N' D' S''")
    assert list(ways_between(MARWA, path("G M"), 0)) == []


def test_a_way_that_would_be_wrong_where_it_stands_is_not_said() -> None:
    # N D S' after r: the rise from r to N passes nothing; D N D S' after P would be foreign.
    bent = mode("N, r G M D N D S'", "S' N D M G r S", "r N D S'")
    ways = list(ways_between(bent, path("r N S'"), 1))
    assert ways == [path("N D S'")]


@given(st.sampled_from([MARWA, BHIMPALASI, BILAWAL]), st.integers(-1, 1))
def test_the_paths_themselves_skip_nothing(judged: Mode, octave: int) -> None:
    for way in (judged.ascent, judged.descent):
        moved = [pitch + 12 * octave for pitch in way]
        assert not [turn for turn in turns(judged, moved) if turn.what == "turn-skipped"]


# What a phrase does, it allows in its own surroundings.

BAGESHRI = mode("S g m D n S'", "S' n D m P D g m g R S", "m P D g")


@pytest.mark.parametrize(
    ("judged", "text", "faults"),
    [
        (BAGESHRI, "m P D g", []),
        (BAGESHRI, "m P D g R S", []),
        (BAGESHRI, "g m P D g", []),
        # The straight run through P is the first thing a teacher stops.
        (BAGESHRI, "S g m P D n S'", [3]),
        (BAGESHRI, "m P D n", [1]),
        (BAGESHRI, "m P D m", [1]),
        # The rise P D n inside a printed descent is the mode's own there (public pages: Sri ragam).
        (mode("S R m P n S'", "S' n P D n P m R g R S"), "S' n P D n P m", []),
        (mode("S R m P n S'", "S' n P D n P m R g R S"), "P D n P", []),
        (mode("S R m P n S'", "S' n P D n P m R g R S"), "P D n S'", [1]),
        (mode("S R m P n S'", "S' n P D n P m R g R S"), "R m P D n P", [3]),
    ],
)
def test_a_passage_of_a_way_is_legal_in_its_surroundings(
    judged: Mode, text: str, faults: list[int]
) -> None:
    assert [verdict.index for verdict in judge_breath(judged, path(text))] == faults
