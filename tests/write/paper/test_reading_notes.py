"""What a part says of its slashes and small notes, where it has any."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.making import piece_of

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.reader import reader_of
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.write.paper.reading_notes import (
    CHORD_SLASHES,
    OWN_RHYTHM,
    SMALL_STROKES,
    reading_notes,
)

HEAD = (
    "cycle: keherwa\nplayers: {flute: {plays: melody}, piano: {plays: voicings},"
    " DRUM: {plays: theka}, tanpura: }\nlines:\n  head: {sargam: S R G m P m G R}\n"
    "  tail: {cadence: {sargam: S R g m P -}}\nform:\n  - groove: 2\n  - play: head\n"
)


def parts_of(drum: str, last: str = "") -> dict[str, Sheet]:
    band = Band(piece_of(HEAD.replace("DRUM", drum) + last))
    return {player.name: part_sheet(band, player) for player in band.piece.players}


def small_notes(sheet: Sheet) -> bool:
    return any(
        note.head == "cue"
        for strain in sheet.strains
        for note in strain.notes
        if isinstance(note, PartNote)
    )


@pytest.mark.parametrize("drum", ["drum-kit", "tabla", "mridangam", "cajon", "frame-drum"])
def test_every_drummer_with_small_notes_reads_what_they_are(drum: str) -> None:
    sheet = parts_of(drum, "  - play: tail\n")[drum]
    assert small_notes(sheet)
    assert reading_notes(sheet) == [SMALL_STROKES]


@pytest.mark.parametrize("drum", ["drum-kit", "tabla"])
def test_who_has_no_small_notes_reads_nothing_of_them(drum: str) -> None:
    sheet = parts_of(drum)[drum]
    assert not small_notes(sheet)
    assert reading_notes(sheet) == []


def test_chords_have_the_sentence_on_slashes_and_cues_their_player_alone() -> None:
    sheets = parts_of("tabla", "  - {solo: piano, cycles: 8}\n  - play: tail\n")
    assert reading_notes(sheets["piano"]) == [CHORD_SLASHES]
    assert SMALL_STROKES not in reading_notes(sheets["flute"])
    assert reading_notes(sheet_of(piece_of(HEAD.replace("DRUM", "tabla")))) == []


def test_slashes_under_symbols_are_explained_where_their_rhythm_is_free() -> None:
    for rhythm, said in (("own", True), ("written", False)):
        piece = piece_of(
            "cycle: keherwa\nplayers: {flute: , guitar: {plays: voicings}}\nlines:\n"
            f"  comp: {{chords: 'S - - - | Pm - - -', rhythm: {rhythm}}}\n"
        )
        guitar = next(player for player in piece.players if player.name == "guitar")
        lead = sheet_of(piece)
        sheet = replace(lead, reader=reader_of(guitar, "pitched", lead.strains))
        assert (OWN_RHYTHM in reading_notes(sheet)) == said
