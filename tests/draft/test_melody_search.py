"""The search for tones: what it finds is legal, rests where the mode rests and ends where asked."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from random import Random

import pytest
from support.catalogue import LIBRARY
from support.catalogue import cycle as cycle_of

from cyclechart.draft.melody_search import WIDEST, Contour, MelodySearch
from cyclechart.draft.rhythms import Beat, Rhythms, phrases_of
from cyclechart.finding import Spot
from cyclechart.theory.grammar import judge_breath
from cyclechart.theory.leaning import LONG, phrases_used, tones_to_end_on
from cyclechart.theory.mode import Mode
from cyclechart.theory.turns import turns


def mode_named(name: str) -> Mode:
    mode, _ = LIBRARY.mode(name, Spot("", 1, 1))
    assert mode is not None
    return mode


def rhythm(cycle: str, seed: int = 1) -> list[Beat]:
    chosen = cycle_of(cycle)
    rhythms = Rhythms(chosen, Fraction(96), Random(seed))
    return rhythms.line(phrases_of(chosen, 2, Fraction(96)), open_end=False)


def breaths(beats: list[Beat], pitches: tuple[int, ...]) -> list[list[int]]:
    found: list[list[int]] = [[]]
    for beat, pitch in zip(beats, pitches, strict=True):
        found[-1].append(pitch)
        if beat.breath:
            found.append([])
    return [breath for breath in found if breath]


@pytest.mark.parametrize("name", ["gaud-sarang", "bageshri", "malkauns", "reetigowla", "yaman"])
def test_lines_are_legal_and_rest_where_the_mode_rests(name: str) -> None:
    mode = mode_named(name)
    resting = tones_to_end_on(mode)
    beats = rhythm("tintal")
    found = MelodySearch(mode, -5, 15).lines(beats, Contour(0, 12, 0), Random(3), last=[0, 12])
    assert found
    for line in found:
        for breath in breaths(beats, line.pitches):
            assert not list(judge_breath(mode, breath))
            assert not list(turns(mode, breath))
        held = [pitch % 12 for beat, pitch in zip(beats, line.pitches, strict=True)
                if beat.length >= LONG]  # fmt: skip
        assert not resting or set(held) <= resting
        assert line.pitches[-1] in (0, 12)
        assert all(-5 <= pitch <= 15 for pitch in line.pitches)
        assert all(abs(b - a) <= max(WIDEST, 12) for a, b in pairwise(line.pitches))


def test_lines_speak_the_mode_s_own_phrases() -> None:
    mode = mode_named("bhimpalasi")
    beats = rhythm("tintal")
    (best, *_) = MelodySearch(mode, -5, 15).lines(beats, Contour(0, 12, 0), Random(3), last=[0])
    assert len(phrases_used(mode, breaths(beats, best.pitches))) >= 2


def test_a_line_rises_to_its_peak_in_the_middle() -> None:
    beats = rhythm("jhaptal")
    (best, *_) = MelodySearch(mode_named("kafi"), -5, 15).lines(
        beats, Contour(0, 12, 0), Random(1), last=[0]
    )
    third = len(beats) // 3
    middle = max(best.pitches[third : 2 * third + 1])
    assert middle >= max(best.pitches[: max(1, third // 2)])
    assert best.pitches[-1] < middle


def test_what_is_said_again_is_legal_twice() -> None:
    mode = mode_named("bhimpalasi")
    beats = [Beat(Fraction(at), Fraction(1)) for at in range(5)]
    search = MelodySearch(mode, -5, 12)
    for line in search.lines(beats, Contour(5, 7, 0), Random(2), last=[0], said_again=True):
        assert search.is_legal(line.pitches * 2)
        assert not list(judge_breath(mode, line.pitches * 2))


def test_a_mode_without_a_tone_in_range_has_no_line() -> None:
    search = MelodySearch(mode_named("yaman"), 1, 1)
    assert search.lines(rhythm("dadra"), Contour(0, 1, 0), Random(1), last=[0]) == []
