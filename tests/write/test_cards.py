"""The cards that ``show`` prints."""

from __future__ import annotations

from fractions import Fraction

from cyclechart.catalog.library import Library
from cyclechart.finding import Spot
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.spelling import Tonic
from cyclechart.write.cards import cycle_card, mode_card

LIBRARY = Library.beside(None)


def test_every_entry_of_the_catalogue_has_a_card_that_defers_to_the_teacher() -> None:
    for shelf in LIBRARY.modes:
        for name in shelf.names():
            mode, _ = LIBRARY.mode(name, Spot("", 1, 1))
            assert mode is not None
            assert "teacher" in list(mode_card(mode, Tonic("F", 1)))[-1]
    for cycles in LIBRARY.cycles:
        for name in cycles.names():
            cycle, _ = LIBRARY.cycle(name, Spot("", 1, 1))
            assert cycle is not None
            assert "teacher" in list(cycle_card(cycle))[-1]


def test_a_cycle_is_drawn_in_columns_with_its_signs() -> None:
    cycle, _ = LIBRARY.cycle("jhaptal", Spot("", 1, 1))
    assert cycle is not None
    beat, sign, stroke = list(cycle_card(cycle))[1:4]
    assert sign.index("×") == beat.index("1")
    assert sign.index("0") == beat.index("6")
    assert stroke[beat.index("6") :].startswith("tin")


def test_a_half_beat_has_a_column() -> None:
    cycle = Cycle("Odd", Fraction(5, 2), (Fraction(2), Fraction(1, 2)), (Fraction(1),))
    beat = list(cycle_card(cycle))[1]
    assert beat.split() == ["beat", "1", "2", "|", "3"]


def test_a_tone_of_one_direction_says_so() -> None:
    mode, _ = LIBRARY.mode("bhimpalasi", Spot("", 1, 1))
    assert mode is not None
    lines = list(mode_card(mode, Tonic("C")))
    assert any(line.lstrip().startswith("R") and "down only" in line for line in lines)
