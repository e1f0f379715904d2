"""The cards that ``show`` prints."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

from cyclechart.catalog.library import Library
from cyclechart.finding import Spot
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.spelling import Tonic
from cyclechart.write.cards import beat_strokes, cycle_card, look_up, mode_card

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


def test_a_stroke_after_a_half_beat_inside_the_cycle_stands_in_one_column() -> None:
    sections = (Fraction(3), Fraction(5, 2), Fraction(2))
    strokes = "dha dhin na | dha dhin dhin/2 | tin na"
    cycle = Cycle("Odd", Fraction(15, 2), sections, (Fraction(1),), strokes=strokes)
    assert beat_strokes(cycle) == [
        (Fraction(0), "dha"),
        (Fraction(1), "dhin"),
        (Fraction(2), "na"),
        (Fraction(3), "dha"),
        (Fraction(4), "dhin"),
        (Fraction(5), "dhin"),
        (Fraction(11, 2), "tin"),
        (Fraction(13, 2), "na"),
    ]


def test_a_broken_definition_is_found_and_its_mistakes_are_told(tmp_path: Path) -> None:
    shared = tmp_path / "shared"
    shared.mkdir()
    (shared / "modes.yaml").write_text("river:\n  ascent: S R G Q P\n  descent: P G R S\n")
    found = look_up("river", Tonic("C"), tmp_path)
    assert found.texts == []
    assert "river" in found.known
    assert [finding.spot.line for finding in found.findings] == [2]
    assert found.findings[0].spot.file in found.sources


def test_a_name_that_is_nothing_has_no_findings_and_no_card(tmp_path: Path) -> None:
    found = look_up("charukesh", Tonic("C"), tmp_path)
    assert (found.texts, found.findings) == ([], [])
    assert "charukeshi" in found.known
