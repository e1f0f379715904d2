"""The rhythms of drafted lines: they fill their cycles, strike first beats and breathe."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from random import Random

import pytest
from support.catalogue import CYCLE_NAMES
from support.catalogue import cycle as cycle_of

from cyclechart.draft.rhythms import FAST, LONGEST_BREATH, Rhythms, phrases_of

TEMPO = Fraction(80)
CYCLES = [*CYCLE_NAMES, "tisra-gati-adi", "khanda-gati-misra-chapu"]


@pytest.mark.parametrize("name", CYCLES)
def test_groups_fill_the_cycles_without_a_gap(name: str) -> None:
    cycle = cycle_of(name)
    groups = [group for phrase in phrases_of(cycle, 2, TEMPO) for group in phrase]
    at = Fraction(0)
    for group in groups:
        assert group.start == at
        at += group.size
    assert at == 2 * cycle.beats


@pytest.mark.parametrize("name", CYCLES)
def test_lines_strike_every_first_beat_and_breathe(name: str) -> None:
    cycle = cycle_of(name)
    for seed in range(3):
        beats = Rhythms(cycle, TEMPO, Random(seed)).line(
            phrases_of(cycle, 2, TEMPO), open_end=False
        )
        struck = {beat.start for beat in beats}
        assert {Fraction(0), cycle.beats} <= struck
        assert all(a.start + a.length <= b.start for a, b in pairwise(beats))
        assert len({beat.length for beat in beats}) > 1 or len(beats) < 6
        since = Fraction(0)
        for beat in beats:
            if beat.breath:
                since = beat.start + beat.length
            assert (beat.start + beat.length - since) * 60 / TEMPO <= LONGEST_BREATH + 6


def test_phrases_that_come_again_have_the_same_rhythm() -> None:
    cycle = cycle_of("keherwa")
    beats = Rhythms(cycle, Fraction(96), Random(5)).line(phrases_of(cycle, 4, TEMPO), open_end=True)
    back = [beat for beat in beats if beat.like is not None]
    assert back
    for beat in back:
        assert beat.like is not None
        assert (beat.start - beats[beat.like].start) % cycle.beats == 0


def test_fast_music_hardly_divides_its_beats() -> None:
    cycle = cycle_of("tintal")

    def divided(tempo: Fraction) -> int:
        lines = (
            Rhythms(cycle, tempo, Random(seed)).line(phrases_of(cycle, 2, TEMPO), open_end=True)
            for seed in range(12)
        )
        return sum(beat.start.denominator > 1 for line in lines for beat in line)

    assert divided(Fraction(FAST + 20)) * 3 < divided(Fraction(60))
