"""The dynamics of a step stand once at the staff: at its pickup, or else at its first note."""

from __future__ import annotations

import pytest
from support.making import piece_of

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
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


def test_a_pickup_in_the_step_before_is_marked_in_place_of_the_first_note() -> None:
    sheet = _part("  - play: head\n  - {play: up, dynamics: ff}\n")
    assert _levels(sheet) == [("A", 6, "ff")]
    xml = part_xml(sheet).decode()
    assert xml.count("<ff/>") == 1
    assert xml.count('<direction placement="below">') >= 1


@pytest.mark.parametrize("times", [2, 3, 5])
def test_only_the_first_of_the_pickups_of_a_step_is_marked(times: int) -> None:
    # What holds already is not said again: the times of a step are folded as without dynamics.
    form = f"  - play: head\n  - {{play: up, times: {times}, dynamics: ff}}\n"
    form += "  - {play: up, dynamics: ff}\n"
    sheet = _part(form)
    assert _levels(sheet) == [("A", 6, "ff")]
    plain = _part(form.replace(", dynamics: ff", ""))
    assert [strain.measures for strain in sheet.strains] == [
        strain.measures for strain in plain.strains
    ]


def test_the_pickup_to_other_dynamics_is_marked() -> None:
    sheet = _part("  - play: head\n  - {play: up, times: 2, dynamics: ff}\n  - play: up\n")
    assert _levels(sheet) == [("A", 6, "ff"), ("B", len(sheet.strains[1].notes) - 2, "mf")]


def test_a_pickup_is_marked_again_after_a_rest_or_after_dynamics_of_the_line() -> None:
    rest = _part(
        "  - play: head\n  - {play: up, dynamics: p}\n  - groove: 4\n  - {play: up, dynamics: p}\n"
    )
    assert [(letter, mark) for letter, _, mark in _levels(rest)] == [("A", "p"), ("C", "p")]
    loud = "  swell: {begins: 7, sargam: 'P d || S R G m !ff!P m G R || S - - - - - - -'}\nform:\n"
    text = TUNE.replace("form:\n", loud) + "  - {play: swell, times: 2, dynamics: p}\n"
    band = Band(piece_of(text))
    marks = [mark for _, _, mark in _levels(part_sheet(band, band.piece.players[0]))]
    assert marks == ["p", "ff", "p", "ff"]


@pytest.mark.parametrize("role", ["double-bass: {plays: pedal}", "piano: {plays: voicings}",
                                  "guitar: {plays: voicings}"])  # fmt: skip
def test_bass_and_chords_have_them_at_their_first_note(role: str) -> None:
    # Behind Bars, "Dynamics" (from memory): each staff has its own, in a part and in a score.
    form = "  - groove: 8\n  - {groove: 8, dynamics: p}\n  - {play: up, times: 2}\n"
    text = TUNE.replace("flute: {plays: melody}", f"flute: {{plays: melody}}, {role}") + form
    band = Band(piece_of(text))
    player = band.piece.players[1]
    sheet = part_sheet(band, player)
    assert [(letter, mark) for letter, _, mark in _levels(sheet)] == [("B", "p"), ("C", "mf")]
    bare = Band(piece_of(text.replace(", dynamics: p", "")))
    plain = part_sheet(bare, bare.piece.players[1])
    assert [strain.measures for strain in sheet.strains] == [
        strain.measures for strain in plain.strains
    ]
    for strain in sheet.strains[1:]:
        first = min(note.start for note in strain.notes)
        assert {note.start for note in strain.notes if set(note.marks) & set(LEVELS)} == {first}
    xml = part_xml(sheet).decode()
    assert (xml.count("<p/>"), xml.count("<mf/>")) == (1, 1)
    in_score = {one.reader.player: one for one in score_sheets(band) if one.reader}[player.name]
    assert [(letter, mark) for letter, _, mark in _levels(in_score)] == [("B", "p"), ("C", "mf")]


def test_steps_that_are_repeated_are_still_written_once() -> None:
    plain = _part("  - {play: head, times: 4}\n")
    marked = _part("  - {play: head, times: 4, dynamics: pp}\n")
    assert len(marked.strains[0].notes) == len(plain.strains[0].notes)
    assert _levels(marked) == [("A", 0, "pp")]


def test_a_step_without_dynamics_at_the_beginning_has_none() -> None:
    assert _levels(_part("  - {play: head, times: 2}\n  - play: up\n")) == []


def test_a_line_after_music_of_a_role_is_marked_where_the_dynamics_return() -> None:
    band = Band(
        piece_of(
            "cycle: keherwa\nplayers: {flute: {plays: melody}, guitar: {plays: voicings}}\n"
            "lines:\n  head: {sargam: S R G m P m G R}\n  riff: {sargam: S - P - S - P -}\n"
            "form:\n  - {play: head, dynamics: p}\n  - {play: head, under: {guitar: riff}}\n"
            "  - play: head\n"
        )
    )
    assert _levels(part_sheet(band, band.piece.players[1])) == [("A", 0, "p"), ("B", 0, "mf")]
