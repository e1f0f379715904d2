"""The theka varied: sam stays, open sections keep their bass closed, a fill leads into sam."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.timelines import CYCLES, ODD, cycle, random_cycles

from cyclechart.arrange.roles.theka import ThekaStroke, theka
from cyclechart.arrange.roles.theka_variations import (
    IN_FOUR,
    IN_FOUR_SOUTH,
    IN_TWO,
    IN_TWO_SOUTH,
    PERIOD,
    RUNS,
    RUNS_SOUTH,
    WITHOUT_BASS,
    CyclePlan,
    Variation,
    cycle_plan,
    theka_variation,
    varied_theka,
    with_fill,
)
from cyclechart.catalog.strokes import TimedSyllable, strokes
from cyclechart.theory.cycle import Cycle

WAYS = get_args(Variation)
TINTAL = cycle("tintal")
EVERY_CYCLE = [*map(cycle, CYCLES), *ODD]


def plan(cycles: int, every: int, seed: int) -> tuple[CyclePlan, ...]:
    """The plans of the first ``cycles`` cycles."""
    return tuple(cycle_plan(number, every, seed) for number in range(cycles))


def in_open(made: Cycle, at: Fraction) -> bool:
    """Return True if a place lies in an open section, by the sums of the sections; a southern wave
    is the hand's alone."""
    if made.southern:
        return False
    begin = Fraction(0)
    for size in made.sections:
        if begin <= at < begin + size:
            return begin + 1 in made.open
        begin += size
    raise AssertionError(at)


def is_sound(made: Cycle, pattern: tuple[ThekaStroke, ...], beats: tuple[ThekaStroke, ...]) -> None:
    """A cycle's strokes lie end to end at most, can be spoken, and begin and rest as the theka."""
    assert beats[0].at == pattern[0].at
    assert beats[0].syllable == pattern[0].syllable
    for before, after in pairwise(beats):
        assert before.length > 0
        assert before.at + before.length <= after.at
    assert beats[-1].at + beats[-1].length <= made.beats
    own = {(beat.at, beat.syllable) for beat in pattern}
    for beat in beats:
        assert strokes().cut(beat.syllable) == [(beat.syllable,)]
        if in_open(made, beat.at) and (beat.at, beat.syllable) not in own:
            assert not strokes().open_bass(beat.syllable), beat
    said = [TimedSyllable(b.at, b.at + b.length, b.syllable, b.length < 1) for b in beats]
    assert all(strokes().sounding(said))


@pytest.mark.parametrize("made", EVERY_CYCLE, ids=lambda made: made.name)
def test_every_way_of_every_cycle(made: Cycle) -> None:
    pattern = theka(made)
    found: set[tuple[ThekaStroke, ...]] = set()
    for number in range(PERIOD):
        for seed in (1, 9):
            again = varied_theka(made, pattern, number + PERIOD, seed, Fraction(1, 2))
            assert again == varied_theka(made, pattern, number, seed, Fraction(1, 2))
            for seconds in map(Fraction, ("3/20", "1/4", "1/2", "1", "2", "3")):
                found.add(varied_theka(made, pattern, number, seed, seconds))
                for way in WAYS:
                    found.add(theka_variation(made, pattern, way, number, seed, seconds))
    for beats in found:  # Many come again and again: each is looked at once.
        is_sound(made, pattern, beats)


@settings(max_examples=100, deadline=None)
@given(random_cycles(), st.integers(20, 400), st.integers(0, 15), st.integers(1, 99))
def test_random_cycles_at_any_tempo(made: Cycle, tempo: int, number: int, seed: int) -> None:
    pattern = theka(made)
    seconds = Fraction(60, tempo)
    beats = varied_theka(made, pattern, number, seed, seconds)
    is_sound(made, pattern, beats)
    for way in WAYS:
        is_sound(made, pattern, theka_variation(made, pattern, way, number, seed, seconds))
    if seconds < Fraction(3, 10):
        thin = theka_variation(made, pattern, "thinned", number, seed, seconds)
        for before, after in pairwise(thin):
            near = (after.at - before.at) * seconds < Fraction(1, 8)
            # Only a stroke straight after sam may be left nearer: it begins a section.
            assert not near or before.at == 0


@pytest.mark.parametrize("made", EVERY_CYCLE, ids=lambda made: made.name)
@pytest.mark.parametrize("length", [1, 2, 4])
def test_a_fill_takes_a_quarter_at_most_and_a_beat_at_least(made: Cycle, length: int) -> None:
    pattern = theka(made)
    for seed in range(1, 5):
        for parts in (1, 2, 4):
            beats = with_fill(made, pattern, Fraction(length), 3, seed, parts)
            is_sound(made, pattern, beats)
            places = [at for _, at, _ in made.walk() if made.beats - at >= 1]
            if beats == pattern:
                # Nothing would be left of it.
                assert not any(places)
                continue
            # Strokes of the theka stand up to a beat from which there are others.
            begins = next(b.at for b in beats if b not in pattern)
            room = made.beats - begins
            assert room <= max(Fraction(2), made.beats / 4)
            assert beats[-1].at + beats[-1].length == made.beats


def test_fills_of_tintal_by_hand() -> None:
    # 13 to 16 is the last clap's section: the bass may ring. 4 beats, a quarter, in halves.
    beats = with_fill(TINTAL, theka(TINTAL), Fraction(4), 3, 1, 2)
    run = [beat.syllable for beat in beats if beat.at >= 12]
    assert " ".join(run) in RUNS
    assert [beat.at for beat in beats if beat.at >= 12] == [12 + Fraction(n, 2) for n in range(8)]
    assert beats[:12] == theka(TINTAL)[:12]
    # Dadra ends in its open section: its run has no bass.
    dadra = cycle("dadra")
    ends = with_fill(dadra, theka(dadra), Fraction(4), 3, 1, 4)
    assert ends[:5] == theka(dadra)[:5]
    assert len(ends) == 9
    assert not any(strokes().open_bass(beat.syllable) for beat in ends[5:])


def test_filled_strokes_are_of_the_same_family() -> None:
    # What comes first in the beat is struck by the hands that the stroke itself names: dha is dha
    # or ta where open; na may be the damped tirakita of the treble (common practice).
    for table in (IN_TWO, IN_FOUR, IN_TWO_SOUTH, IN_FOUR_SOUTH):
        for syllable, said in table.items():
            first = said.split()[0]
            hands = [{s.hand for s in strokes().syllables[one]} for one in (syllable, first)]
            assert hands[0] == hands[1], syllable
            assert len(said.split()) == (4 if table in (IN_FOUR, IN_FOUR_SOUTH) else 2)


def test_all_that_can_be_put_in_is_known() -> None:
    known = strokes()
    south = (*IN_TWO_SOUTH.values(), *IN_FOUR_SOUTH.values(), *RUNS_SOUTH)
    for text in (*IN_TWO.values(), *IN_FOUR.values(), *RUNS, *south):
        assert all(known.cut(one) == [(one,)] for one in text.split())
    groups = [known.group(one) for text in south for one in text.split()]
    assert all(group is not None and "konnakol" in group.drums for group in groups)
    said = {one for text in (*IN_TWO.values(), *IN_FOUR.values(), *RUNS) for one in text.split()}
    for one in said:
        assert not known.open_bass(WITHOUT_BASS.get(one, one))


def test_filled_parts_some_strokes_and_not_all() -> None:
    pattern = theka(TINTAL)
    counts = [len(theka_variation(TINTAL, pattern, "filled", 1, s)) for s in range(1, 30)]
    assert min(counts) >= 16
    assert max(counts) < 48
    assert sum(counts) / len(counts) > 18
    beats = theka_variation(TINTAL, pattern, "filled", 1, 3)
    for beat in pattern:
        assert any(one.at == beat.at for one in beats)


def test_light_is_sam_sections_and_claps() -> None:
    light = theka_variation(TINTAL, theka(TINTAL), "light", 0, 1)
    assert [(beat.at, beat.length) for beat in light] == [(0, 4), (4, 4), (8, 4), (12, 4)]


def test_doubled_fills_slow_beats_with_damped_strokes() -> None:
    pattern = theka(TINTAL)
    for seconds, parts in ((Fraction(2), 2), (Fraction(4), 4)):
        beats = theka_variation(TINTAL, pattern, "doubled", 0, 1, seconds)
        assert len(beats) == 16 * parts
        plain = {beat.at: beat.syllable for beat in pattern}
        for beat in beats:
            if beat.at in plain:
                assert beat.syllable == plain[beat.at]
            else:
                assert all(s.ring == "closed" for s in strokes().syllables[beat.syllable])


def test_drut_is_thinned() -> None:
    ektal = cycle("ektal")
    beats = varied_theka(ektal, theka(ektal), 0, 1, Fraction(1, 5))
    # dhin dhin dhage tirakita tu na kat ta dhage tirakita dhi na: one stroke a beat.
    assert [beat.at for beat in beats] == list(range(12))
    assert [beat.syllable for beat in beats][:4] == ["dhin", "dhin", "dha", "ti"]


def test_a_gati_is_filled_in_its_own_pulses() -> None:
    made = TINTAL.in_gati("khanda")
    for way in ("filled", "doubled"):
        for beat in theka_variation(made, theka(made), way, 1, 4):
            assert (beat.at * 5).denominator == 1
    run = with_fill(made, theka(made), Fraction(2), 3, 1)
    assert [b.syllable for b in run if b.at >= 14] == ["ta", "ka", "ta", "ki", "ta"] * 2


@pytest.mark.parametrize("every", [0, 2, 3, 4, 8])
def test_the_plan_fills_before_every_so_manyth_sam(every: int) -> None:
    for seed in range(1, 20):
        turns = plan(32, every, seed)
        assert turns == plan(32, every, seed)
        assert plan(8, every, seed) == turns[:8]
        filled = [number for number, turn in enumerate(turns) if turn.into_sam]
        assert filled == ([n for n in range(32) if n % every == every - 1] if every else [])
        assert turns[0].variation == "plain"
        assert {turn.variation for turn in turns} <= {"plain", "filled"}
        for one, two in pairwise(turns):
            assert "plain" in (one.variation, two.variation)
    assert len({plan(32, 4, seed) for seed in range(1, 20)}) > 1
    assert {(turn.variation, turn.into_sam) for turn in plan(9, every, 0)} == {("plain", False)}
