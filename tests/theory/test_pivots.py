"""Pivot phrases between two modes: legal in both, ended where both rest, and none forgotten."""

from __future__ import annotations

import random

from hypothesis import given, settings
from hypothesis import strategies as st

from cyclechart.catalog.library import Library
from cyclechart.catalog.search import entries
from cyclechart.finding import Spot
from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.leaning import tones_to_end_on
from cyclechart.theory.mode import Mode
from cyclechart.theory.pivots import LONGEST, SHORTEST, WHOLE, ModePair, shift_between
from cyclechart.theory.tones import show_path
from cyclechart.theory.turns import turns
from cyclechart.theory.ways import runs_of

LIBRARY = Library.beside(None)
MODES = [entry.mode for entry in entries(LIBRARY)[0]]
PAIRS = st.tuples(st.sampled_from(MODES), st.sampled_from(MODES), st.integers(-6, 5))


def named(name: str) -> Mode:
    mode, _ = LIBRARY.mode(name, Spot("", 1, 1))
    assert mode is not None
    return mode


def pivots(first: str, second: str, shift: int = 0) -> list[str]:
    return [show_path(one.first) for one in ModePair(named(first), named(second), shift).pivots()]


@settings(max_examples=300, deadline=None)
@given(PAIRS)
def test_every_pivot_is_legal_in_both_modes_and_ends_where_both_rest(
    case: tuple[Mode, Mode, int],
) -> None:
    first, second, shift = case
    for one in ModePair(*case).pivots():
        assert one.second == tuple(pitch - shift for pitch in one.first)
        assert len(one.first) >= SHORTEST
        assert len(one.first) <= LONGEST or one.origin in WHOLE
        for mode, pitches in ((first, one.first), (second, one.second)):
            assert not list(judge_breath(mode, pitches))
            assert not list(turns(mode, pitches))
            may_end = tones_to_end_on(mode)
            assert not may_end or pitches[-1] % 12 in may_end


@settings(max_examples=100, deadline=None)
@given(PAIRS)
def test_no_phrase_that_both_allow_is_forgotten_and_none_stands_twice(
    case: tuple[Mode, Mode, int],
) -> None:
    first, second, shift = case
    found = ModePair(*case).pivots()
    shapes = [_shape(one.first) for one in found]
    assert len(set(shapes)) == len(shapes)
    for phrase in first.phrases:
        there = [pitch - shift for pitch in phrase]
        clean = not any(
            (*judge_breath(mode, path), *turns(mode, path))
            for mode, path in ((first, phrase), (second, there))
        )
        ends = all(
            not tones_to_end_on(mode) or path[-1] % 12 in tones_to_end_on(mode)
            for mode, path in ((first, phrase), (second, there))
        )
        named_ends = first.rests and second.rests
        if clean and ends and named_ends and len(runs_of(phrase)) >= SHORTEST:
            assert _shape(phrase) in shapes


def _shape(pitches: tuple[int, ...]) -> tuple[int, ...]:
    """A passage without repeats and without its octave."""
    path = [pitch for _, pitch in runs_of(pitches)]
    return (path[0] % 12, *(pitch - path[0] for pitch in path))


@settings(max_examples=100, deadline=None)
@given(PAIRS)
def test_the_tones_are_parted_into_three(case: tuple[Mode, Mode, int]) -> None:
    first, second, shift = case
    pair = ModePair(*case)
    theirs = {(tone + shift) % 12 for tone in second.tones}
    assert set(pair.common) | set(pair.leaving) == first.tones
    assert set(pair.common) | set(pair.coming) == theirs
    assert set(pair.ends) <= set(pair.common)


def test_bhupali_becomes_malkauns_from_its_third() -> None:
    pair = ModePair(named("bhupali"), named("malkauns"), 4)
    assert pair.common == (0, 2, 4, 7, 9)
    assert not pair.leaving and not pair.coming
    best = pair.pivots()[0]
    assert show_path(best.first) == "G R S D, S R G"
    assert show_path(best.second) == "S n, d, m, d, n, S"
    assert best.owner == "first"


def test_own_phrases_come_before_passages() -> None:
    found = ModePair(named("yaman"), named("bhupali")).pivots()
    origins = [one.origin in WHOLE for one in found]
    assert origins == sorted(origins, reverse=True)
    assert "D P G R S" in pivots("yaman", "bhupali")


def test_most_pairs_of_modes_with_phrases_have_a_pivot() -> None:
    draw = random.Random(7)
    spoken = [mode for mode in MODES if mode.phrases]
    pairs = [ModePair(*draw.sample(spoken, 2)) for _ in range(300)]
    assert sum(bool(pair.pivots()) for pair in pairs) > 180


def test_a_mode_and_itself_have_their_phrases_in_common() -> None:
    yaman = named("yaman")
    assert all(
        one.origin == "phrases of both" and not one.owner
        for one in ModePair(yaman, yaman).pivots()[:3]
    )


def test_modes_that_share_only_sa_have_no_phrase() -> None:
    pair = ModePair(named("malkauns"), named("hamsadhwani"))
    assert pair.common == (0,)
    assert pair.ends == (0,)
    assert pair.pivots() == []


def test_the_nearer_way_to_another_sa() -> None:
    assert [shift_between(0, tone) for tone in (0, 5, 6, 7, 11)] == [0, 5, -6, -5, -1]


def test_common_tones_move_by_the_comma_between_the_tunings() -> None:
    # Just D over C is 5/3, 884.4 cents; as R (9/8, 203.9) over a tempered G it is 903.9.
    pair = ModePair(named("bilawal-thaat"), named("bilawal-thaat"), -5)
    assert round(pair.cents_moved(9), 1) == 19.6
    assert ModePair(named("bhupali"), named("bhupali")).cents_moved(4) == 0
