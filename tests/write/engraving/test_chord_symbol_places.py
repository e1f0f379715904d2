"""Chord symbols in pictures: on nothing else, within the picture."""

from __future__ import annotations

from dataclasses import replace

import pytest
from support.boxes import boxes, boxes_outside, overlaps
from support.making import piece_of

from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.piece.model import Piece
from cyclechart.write.engraving.systems import engrave

DENSE = "F#7EmDmC C#m7-F#7 B/F#z F#maj7 | [C#m7b5 F#7(b9) z]x3 F#7alt - - | F#7 - - -/2"
WIDE = (
    "F#7 - B/F# - | C#m7b5 F#7(b9) Bmaj7#11 Em6/9 | "
    "[A13sus4 A13 A7#5#9]x3/2 - G#m7b5/C# C#7/2 - - | - - - -"
)
EVERY_BEAT = "Bbmaj7#11 Am7b5/Eb G13b9 C7(b9,#11) | F#maj9 Dbm(maj7) E7#5#9 A13sus4"
PLACES = (
    ("{beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}", DENSE, "written"),
    ("{beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}", DENSE, "own"),
    ("keherwa", EVERY_BEAT, "own"),
    ("keherwa", EVERY_BEAT, "written"),
    ("tintal", f"{EVERY_BEAT} {EVERY_BEAT}", "own"),
)


def piece_with(cycle: str, chords: str, rhythm: str, tonic: str = "F#") -> Piece:
    return piece_of(
        f"cycle: {cycle}\nmode: bilawal\ntonic: {tonic}\n"
        "players: {flute: , guitar: {plays: voicings}, piano: {plays: voicings}}\n"
        f"lines:\n  comp: {{chords: '{chords}', rhythm: {rhythm}}}\n"
        "form: [{play: comp, tempo: {to: 140}}]\n"
    )


@pytest.mark.parametrize(("cycle", "chords", "rhythm"), PLACES)
@pytest.mark.parametrize("tonic", ["F#", "Bb"])
def test_symbols_stand_on_nothing(cycle: str, chords: str, rhythm: str, tonic: str) -> None:
    piece = piece_with(cycle, chords, rhythm, tonic)
    sheet = sheet_of(piece)
    strain = next(one for one in sheet.strains if one.name == "comp")
    shown = 0
    for number, system in enumerate(engrave(sheet, strain, first=True).systems):
        assert not overlaps(system), (number, overlaps(system))
        assert not boxes_outside(system)
        shown += len({box.group for box in boxes(system) if box.kind == "harmony"})
    assert shown == len({note.start for note in strain.notes if getattr(note, "chord", None)})


def test_symbols_over_a_melody_stand_on_nothing() -> None:
    piece = piece_of(
        "cycle: keherwa\nmode: bilawal\nplayers: {flute: , guitar: {plays: voicings}}\nlines:\n"
        "  head: {sargam: \"S' - nDPm N'' | z - {R}G !trill!P || S'''-N''- P - - | - S R G\"}\n"
        f"  comp: {{chords: '{EVERY_BEAT}'}}\n"
        "form: [{play: comp}, {play: head}]\n"
    )
    sheet = sheet_of(piece)
    comp = next(one for one in sheet.strains if one.name == "comp")
    head = next(one for one in sheet.strains if one.name == "head")
    chords = tuple((note.start, note.chord) for note in comp.notes if note.chord is not None)
    over = replace(head, symbols=chords)
    drawn = engrave(sheet, over, first=True).systems
    shown = [len({box.group for box in boxes(one) if box.kind == "harmony"}) for one in drawn]
    assert sum(shown) == len(chords)
    for system in drawn:
        assert not overlaps(system)
        assert not boxes_outside(system)
