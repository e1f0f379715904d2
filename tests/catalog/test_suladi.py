"""The 35 suladi talas against the printed totals."""

from __future__ import annotations

import pytest

from cyclechart.catalog.library import Library
from cyclechart.catalog.suladi import JATIS, NAMES, suladi
from cyclechart.finding import Spot

# Totals as a public tala chart (C. Shotham) and a second public page print them; Sangeet Visharad
# p. 191 prints Dhruva's tisra 11, khanda 17 and misra 23.
TOTALS = {
    "dhruva": (11, 14, 17, 23, 29),
    "matya": (8, 10, 12, 16, 20),
    "rupaka": (5, 6, 7, 9, 11),
    "jhampa": (6, 7, 8, 10, 12),
    "triputa": (7, 8, 9, 11, 13),
    "ata": (10, 12, 14, 18, 22),
    "eka": (3, 4, 5, 7, 9),
}


@pytest.mark.parametrize("tala", TOTALS)
def test_totals(tala: str) -> None:
    made = [suladi(f"{jati}-jati-{tala}") for jati in JATIS]
    assert [cycle.beats for cycle in made if cycle] == list(TOTALS[tala])


def test_there_are_thirty_five_and_each_limb_begins_with_a_clap() -> None:
    assert len(set(NAMES)) == 35
    for name in NAMES:
        cycle = suladi(name)
        assert cycle is not None
        assert sum(cycle.sections) == cycle.beats
        assert cycle.stressed == tuple(start + 1 for start in cycle.starts)


def test_adi_is_chaturasra_jati_triputa() -> None:
    library = Library.beside(None)
    adi, _ = library.cycle("adi", Spot("", 1, 1))
    made, _ = library.cycle("chaturasra-jati-triputa", Spot("", 1, 1))
    assert adi and made
    assert (adi.beats, adi.sections, adi.stressed) == (made.beats, made.sections, made.stressed)


@pytest.mark.parametrize("name", ["khanda-jati-nothing", "five-jati-eka", "eka", "-jati-"])
def test_other_names_are_none(name: str) -> None:
    assert suladi(name) is None


def test_an_unknown_name_is_answered_with_the_nearest_of_them() -> None:
    _, findings = Library.beside(None).cycle("khanda-jati-druva", Spot("f", 1, 1))
    assert "khanda-jati-dhruva" in findings[0].tries
