"""The theka: a cycle's own strokes, and those made from its sections where it has none."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cyclechart.arrange.roles.spoken_count import spoken_count
from cyclechart.arrange.roles.theka import SOLKATTU, ThekaStroke, theka
from cyclechart.arrange.roles.theka_rows import beat_strokes
from cyclechart.catalog.library import Library
from cyclechart.catalog.strokes import strokes
from cyclechart.catalog.suladi import NAMES
from cyclechart.finding import Spot
from cyclechart.theory.cycle import KINDS, Cycle, groups_of

LIBRARY = Library.beside(None)
TABLE = strokes()
MAX_SECTION = 128


def made_of(
    sections: str, stressed: str = "1", waved: str = "", gati: int = 0, strokes: str = ""
) -> Cycle:
    sizes = tuple(map(F, sections.split()))
    claps, waves = tuple(map(F, stressed.split())), tuple(map(F, waved.split()))
    return Cycle(
        name="ours",
        beats=sum(sizes, F(0)),
        sections=sizes,
        stressed=claps,
        open=waves,
        strokes=strokes,
        gati=gati,
    )


def said(cycle: Cycle) -> str:
    """The theka as a line of strokes, barred at the sections."""
    row: list[str] = []
    for offset, text in beat_strokes(cycle):
        row += ["|"] if offset and offset in cycle.starts else []
        row.append(text)
    return " ".join(row)


def is_open(cycle: Cycle, at: F) -> bool:
    start = max(start for start in cycle.starts if start <= at)
    return start + 1 in cycle.open


def test_a_cycles_own_strokes_are_its_theka() -> None:
    cycle, _ = LIBRARY.cycle("jhumra", Spot("", 1, 1))
    assert cycle is not None
    # A public lesson page: Dhin -Dha TiRaKiTa.
    assert theka(cycle)[:6] == (
        ThekaStroke(F(0), F(3, 2), "dhin"),
        ThekaStroke(F(3, 2), F(1, 2), "dha"),
        *(ThekaStroke(2 + F(n, 4), F(1, 4), s) for n, s in enumerate(["ti", "ra", "ki", "ta"])),
    )


# What is made: our own choice, put together from the groups of printed thekas (see arrange/theka).
@pytest.mark.parametrize(
    ("cycle", "pattern"),
    [
        # The frame of tintal, with the bass away through the whole wave and a lead into sam.
        (
            made_of("4 4 4 4", "1 5 13", "9"),
            "dha dhin dhin dha | dha dhin dhin dha | ta tin tin ta | dha dhin dhage tete",
        ),
        (made_of("3 2 2", "4 6", "1"), "tin tin na | dha na | dha tete"),
        (made_of("2 3 2 3", "1 3 8", "6"), "dha na | dha dhin na | tin na | dha dhin tete"),
        (made_of("3 3", "1", "4"), "dha dhin na | tin tin tete"),
        (made_of("4 4", "1", "5"), "dha dhin dhin dha | ta tin take tete"),
        # Sections of one beat: not the same stroke on each.
        (made_of("1 1 1 1 1", "1 2 3 4 5"), "dha | dhin | dha | dhin | dhage"),
        (made_of("1/2 1/2 1/2", "1 3/2 2"), "dha | dhin | dha"),
        # Unmarked sections are lighter.
        (made_of("2 2 2 1 2"), "dha na | ta dhin | na tin | tin | na tete"),
        # Broken lengths end in a light short beat.
        (made_of("4 4 7/2", "1 9", "5"), "dha dhin dhin dha | ta tin tin ta | dha dhin dhage te"),
        (made_of("5/2 9/4 3/2", "1 23/4", "7/2"), "dha na te | tin na te | dhage te"),
        (made_of("2 2 2 3/2 3/2"), "dha na | ta dhin | na tin | tin na | nage te"),
        # One long section is counted in fours, threes and twos.
        (made_of("13"), "dha dhin dhin dha ta dhin dhin dha dhin na dhin dhage tete"),
        (made_of("7"), "dha dhin na dhin na dhage tete"),
        (made_of("1"), "dha"),
        (made_of("1", "", "1"), "ta"),
    ],
)
def test_what_is_made(cycle: Cycle, pattern: str) -> None:
    assert said(cycle) == pattern


@pytest.mark.parametrize(
    ("gati", "pattern"),
    [
        # Full on the first beat of each limb and before sam, thinner between: our own choice.
        (3, "dhakita dhin-ta dhin-ta dha-ta | dhakita na-ta | dhakita tekita"),
        (
            5,
            "dhakatakita dhin-ta-- dhin-ta-- dha-ta-- | dhakatakita na-ta-- | "
            "dhakatakita tekatakita",
        ),
    ],
)
def test_adi_in_a_gati(gati: int, pattern: str) -> None:
    assert said(made_of("4 2 2", "1 5 7", gati=gati)) == pattern


def test_strokes_that_are_given_stay_in_any_gati() -> None:
    cycle = made_of("2 2", strokes="dha dhin | na tin")
    assert theka(replace(cycle, gati=7)) == theka(cycle)


@pytest.mark.parametrize(
    ("beats", "groups"),
    [
        # The pairs and threes that the trade counts by: the chapus (2 3, 3 2 2; public pages) and
        # dadra (3 3; a public table of talas).
        (5, [2, 3]), (7, [3, 2, 2]), (6, [3, 3]),
        # As many fours as go: our own choice.
        (0, []), (1, [1]), (4, [4]), (8, [4, 4]), (9, [4, 2, 3]), (13, [4, 4, 2, 3]),
    ],
)  # fmt: skip
def test_beats_are_counted_in_groups(beats: int, groups: list[int]) -> None:
    assert groups_of(beats) == groups


@given(st.integers(2, MAX_SECTION))
def test_groups_are_of_two_to_four_and_add_up(beats: int) -> None:
    assert sum(groups_of(beats)) == beats
    assert set(groups_of(beats)) <= {2, 3, 4}


def test_a_gati_is_said_in_as_many_syllables_as_it_has_pulses() -> None:
    # Common practice: takita, takadimi, takatakita, takitatakadimi, takadimitakatakita.
    assert {pulses: len(names.split()) for pulses, names in SOLKATTU.items()} == {
        pulses: pulses for pulses in KINDS.values()
    }


# What holds for any cycle that can be written


@st.composite
def cycles(draw: st.DrawFn) -> Cycle:
    eighths = st.one_of(st.integers(1, 13).map(F), st.integers(1, 40).map(lambda n: F(n, 8)))
    sizes = draw(st.lists(eighths, min_size=1, max_size=10))
    beats = sum(sizes, F(0))
    if beats < 1:  # no cycle is shorter
        sizes.append(F(1))
    starts = [sum(sizes[:place], F(0)) + 1 for place in range(len(sizes))]
    signs = draw(st.lists(st.sampled_from(["clap", "wave", "none"]), min_size=len(sizes)))
    claps = tuple(start for start, sign in zip(starts, signs, strict=False) if sign == "clap")
    waves = tuple(start for start, sign in zip(starts, signs, strict=False) if sign == "wave")
    gati = draw(st.sampled_from([0, *KINDS.values()]))
    return Cycle(
        name="any",
        beats=sum(sizes, F(0)),
        sections=tuple(sizes),
        stressed=claps,
        open=waves,
        gati=gati,
    )


@given(cycles())
def test_it_fills_the_cycle_from_its_first_beat(cycle: Cycle) -> None:
    at = F(0)
    for beat in theka(cycle):
        assert beat.at == at  # no gap and no overlap
        at += beat.length
    assert at == cycle.beats


@given(cycles())
def test_every_section_begins_with_a_stroke(cycle: Cycle) -> None:
    assert set(cycle.starts) <= {beat.at for beat in theka(cycle)}


@given(cycles())
def test_the_bass_rings_on_sam_and_claps_and_in_no_open_section(cycle: Cycle) -> None:
    """The trade's rule at khali: no open bass."""
    for beat in theka(cycle):
        rings = TABLE.open_bass(beat.syllable)
        if is_open(cycle, beat.at):
            assert not rings
        elif beat.at == 0 or beat.at + 1 in cycle.stressed:
            assert rings


@given(cycles())
def test_it_is_made_of_the_tables_syllables_in_lengths_that_can_be_played(cycle: Cycle) -> None:
    for beat in theka(cycle):
        assert beat.syllable in TABLE.syllables
        assert F(1, 9) <= beat.length <= 1


@given(cycles())
def test_the_same_cycle_has_the_same_theka_whatever_it_is_called(cycle: Cycle) -> None:
    assert theka(cycle) == theka(replace(cycle, name="another", note="said twice"))


@given(cycles())
def test_three_beats_or_more_are_not_all_one_stroke(cycle: Cycle) -> None:
    if cycle.beats >= 3:
        assert len({beat.syllable for beat in theka(cycle)}) > 1


@given(cycles())
def test_a_whole_last_beat_leads_in_with_two_strokes_or_more(cycle: Cycle) -> None:
    if cycle.beats > 1 and cycle.sections[-1].denominator == 1:
        last = [beat for beat in theka(cycle) if beat.at >= cycle.beats - 1]
        assert len(last) >= 2


@given(cycles())
def test_the_first_stroke_of_a_cycle_without_open_sections_is_heard_best(cycle: Cycle) -> None:
    if F(1) not in cycle.open:
        assert theka(cycle)[0].syllable == "dha"


def of_catalogue(name: str) -> Cycle:
    found, _ = LIBRARY.cycle(name, Spot("", 1, 1))
    assert found is not None
    return found


@pytest.mark.parametrize("kind", KINDS)
def test_every_suladi_tala_in_every_gati_has_a_sarvalaghu_in_its_pulses(kind: str) -> None:
    for name in NAMES:
        cycle = of_catalogue(f"{kind}-gati-{name}")
        pattern = {beat.at: beat for beat in theka(cycle)}
        assert all(pattern[start].syllable == "na" for start in cycle.starts)
        assert all((beat.at * cycle.gati).denominator == 1 for beat in pattern.values())
        # Beyond the first pulse of a beat it is the gati's own solkattu.
        names = SOLKATTU[cycle.gati].split()
        for at, beat in pattern.items():
            pulse = int(at % 1 * cycle.gati)
            assert beat.syllable == names[pulse] if pulse else beat.syllable in ("na", "dhin")


@pytest.mark.parametrize(
    ("name", "pattern"),
    [
        # The phrase na thin thin na of a public page (mridangams.com, 2007/08, the first
        # sarvalaghu of Adi), with the bass; the others from memory.
        ("adi", "nadhin dhinna nadhin dhinna | nadhin dhinna | nadhin dhinna"),
        ("misra-chapu", "na dhin dhin | na dhin | dhin na"),
        # Made from the limbs where the catalogue has none.
        ("khanda-jati-triputa", "na dhin na dhin dhin | na dhin | na dhin"),
        ("chaturasra-jati-jhampa", "na dhin dhin na | na | na dhin"),
    ],
)
def test_a_southern_drummer_plays_a_sarvalaghu(name: str, pattern: str) -> None:
    assert said(of_catalogue(name)) == pattern


def test_a_southern_tala_of_broken_length_is_filled_too() -> None:
    cycle = replace(made_of("5/2 1/2 3/4"), southern=True)
    assert said(cycle) == "na dhin na | na | na"


@pytest.mark.parametrize("name", [*NAMES, "adi", "misra-chapu", "rupaka-three", "simhanandana"])
def test_no_southern_drum_is_given_the_spoken_count(name: str) -> None:
    cycle = of_catalogue(name)
    assert theka(cycle) != spoken_count(cycle)
    for beat in theka(cycle):
        group = TABLE.group(beat.syllable)
        assert group is not None
        assert "mridangam" in group.drums
