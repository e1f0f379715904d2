"""The dynamics of a step stand at its first notes in the parts, and at its pickup."""

from __future__ import annotations

from support.making import piece_of

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.piece.steps import LEVELS
from cyclechart.write.musicxml.document import part_xml

TUNE = (
    "cycle: keherwa\nplayers: {flute: {plays: melody}, tabla: {plays: theka}, tanpura: }\n"
    "lines:\n  head: {sargam: S R G m P m G R}\n"
    "  up: {begins: 7, sargam: P d || S R G m P m G R || S - - - - - - -}\n"
    "  soft: {sargam: '!p!S R G m P m G R'}\nform:\n"
)


def _part(form: str) -> Sheet:
    band = Band(piece_of(TUNE + form))
    return part_sheet(band, band.piece.players[0])


def _levels(sheet: Sheet) -> list[tuple[str, int, str]]:
    """The strain and the number of each note with dynamics."""
    return [
        (strain.letter, at, mark)
        for strain in sheet.strains
        for at, note in enumerate(strain.notes)
        for mark in note.marks
        if mark in LEVELS
    ]


def test_a_step_is_marked_at_its_first_note_and_the_one_after_it_returns() -> None:
    sheet = _part("  - play: head\n  - {play: head, dynamics: p}\n  - play: head\n  - play: soft\n")
    assert _levels(sheet) == [("B", 0, "p"), ("C", 0, "mf"), ("D", 0, "p")]


def test_a_pickup_in_the_step_before_is_marked_too() -> None:
    sheet = _part("  - play: head\n  - {play: up, dynamics: ff}\n")
    assert _levels(sheet) == [("A", 6, "ff"), ("B", 0, "ff")]
    xml = part_xml(sheet).decode()
    assert xml.count("<ff/>") == 2
    assert xml.count('<direction placement="below">') >= 2


def test_steps_that_are_repeated_are_still_written_once() -> None:
    plain = _part("  - {play: head, times: 4}\n")
    marked = _part("  - {play: head, times: 4, dynamics: pp}\n")
    assert len(marked.strains[0].notes) == len(plain.strains[0].notes)
    assert _levels(marked) == [("A", 0, "pp")]


def test_a_step_without_dynamics_at_the_beginning_has_none() -> None:
    assert _levels(_part("  - {play: head, times: 2}\n  - play: up\n")) == []
