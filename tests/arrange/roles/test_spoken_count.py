"""The spoken count of a cycle: its own, that of its gati or of its limbs."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction as F

import pytest
from support.catalogue import cycle
from support.making import piece_of
from support.timelines import CYCLES, ODD
from support.timelines import cycle as any_cycle

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.roles.drum_kit import KICK
from cyclechart.arrange.roles.spoken_count import kept_time, spoken_count
from cyclechart.arrange.roles.theka import theka
from cyclechart.arrange.roles.theka_rows import beat_counts, is_counted
from cyclechart.catalog.instruments import instrument
from cyclechart.catalog.strokes import strokes
from cyclechart.theory.cycle import Cycle

EVERY_CYCLE = [*map(any_cycle, CYCLES), *ODD]


def counted(made: Cycle) -> str:
    return " ".join(text for _, text in beat_counts(made))


@pytest.mark.parametrize(
    ("name", "said"),
    [
        # Common practice: takadimi takajonu, takita takadimi, taka takita.
        ("adi", "ta ka di mi ta ka jo nu"),
        ("misra-chapu", "ta ki ta ta ka di mi"),
        ("khanda-chapu", "ta ka ta ki ta"),
        ("adi-two-kalais", "ta - ka - di - mi - ta - ka - jo - nu -"),
        ("rupaka-three", "takadimi takadimi takajonu"),
        # Made from the sections, in groups of two, three and four.
        ("misra-jhampa", "ta ki ta ta ka ta ka ta ta ka"),
    ],
)
def test_what_is_recited(name: str, said: str) -> None:
    assert counted(cycle(name)) == said


def test_a_gati_is_recited_in_every_beat() -> None:
    # Common practice: takatakita.
    assert counted(cycle("adi").in_gati("khanda")) == " ".join(["takatakita"] * 8)
    short = replace(cycle("khanda-chapu").in_gati("tisra"), beats=F(5, 2), sections=(F(5, 2),))
    assert [beat.syllable for beat in spoken_count(short)][-1] == "ta"


@pytest.mark.parametrize("made", EVERY_CYCLE, ids=lambda made: made.name)
def test_it_fills_every_cycle_with_syllables_of_the_table(made: Cycle) -> None:
    at = F(0)
    for beat in spoken_count(made):
        assert beat.at == at
        assert beat.syllable in strokes().syllables
        at += beat.length
    assert at == made.beats


def test_a_northern_cycle_is_recited_by_its_theka() -> None:
    tintal = cycle("tintal")
    assert spoken_count(tintal) == theka(tintal)
    assert not is_counted(tintal)
    assert is_counted(cycle("adi"))


def test_a_reciter_says_the_count_and_a_drum_plays_its_strokes() -> None:
    konnakol, kanjira = instrument("konnakol"), instrument("kanjira")
    assert konnakol is not None
    assert kanjira is not None
    adi = cycle("adi")
    assert kept_time(adi, konnakol) == spoken_count(adi)
    assert kept_time(adi, kanjira) == theka(adi)


def test_a_band_in_adi_plays_a_sarvalaghu_and_recites_the_count() -> None:
    piece = piece_of(
        "lines: {head: {sargam: S R G P | D P | G R}}\nform: [{play: head, times: 8}]\n",
        mode="mohanam",
        cycle="adi",
        players="{flute: {plays: melody}, mridangam: {plays: theka}, konnakol: {plays: theka}, "
        "drum-kit: {plays: theka}}",
    )
    parts = {part.name: part for part in arrange(piece).parts}

    def syllables(name: str, beats: tuple[int, int]) -> list[str]:
        start, end = (beat + 8 for beat in beats)  # a cycle of count-in
        return [hit.text for hit in parts[name].hits if start <= hit.start < end and hit.text]

    assert " ".join(syllables("mridangam", (0, 8))) == " ".join(["na dhin dhin na"] * 4)
    assert " ".join(syllables("konnakol", (0, 8))) == "ta ka di mi ta ka jo nu"
    counted = {"ka", "di", "mi", "jo", "nu"}
    assert not counted & set(syllables("mridangam", (0, 24)))
    # The kit's kick is on the claps.
    kicks = {hit.start - 8 for hit in parts["drum-kit"].hits if hit.key == KICK}
    assert {F(0), F(4), F(6)} <= kicks
