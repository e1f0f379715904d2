"""Slurs, words and hairpins of lines in parts: with repeats they are those of the lines."""

from __future__ import annotations

from itertools import pairwise

import pytest
from support.making import load_text, piece_of
from support.signed_pieces import signed_piece

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.piece.hairpins_and_slurs import slurred_notes, slurs_of
from cyclechart.piece.model import Piece


def band_of(sargam: str, times: int, *, begins: str = "1", players: str = "") -> Band:
    players = players or "players:\n  flute: {plays: melody}\n  alto-sax: {plays: melody}\n"
    text = (
        f"{players}lines:\n  head:\n    begins: {begins}\n    sargam: |\n      {sargam}\n"
        f"form:\n  - play: head\n    times: {times}\n"
    )
    return Band(piece_of(text, cycle="keherwa", mode="kafi"))


def first_part(band: Band) -> Sheet:
    return part_sheet(band, band.piece.players[0])


def slurs_as_tones(strain: Strain) -> list[tuple[int | None, int | None]]:
    notes = strain.notes
    return [(notes[first].pitch, notes[last].pitch) for first, last in slurs_of(notes)]


def joined_in_lines(piece: Piece) -> dict[str, frozenset[int]]:
    return {name: slurred_notes(line.notes) for name, line in piece.lines.items()}


@pytest.mark.parametrize("seed", range(12))
def test_a_written_slur_joins_what_the_line_joins(seed: int) -> None:
    piece = load_text(signed_piece(seed)).piece
    assert piece is not None
    band = Band(piece)
    in_lines = joined_in_lines(piece)
    seen = 0
    for sheet in (part_sheet(band, piece.players[0]), *score_sheets(band)[:2]):
        for strain in sheet.strains:
            joined = slurred_notes(strain.notes)
            for at, (before, note) in enumerate(pairwise(strain.notes), start=1):
                assert isinstance(before, PartNote) and isinstance(note, PartNote)
                number, index = note.origin
                inside = index in in_lines[band.timeline.placed_lines[number].line.name]
                assert at not in joined or inside
                if inside and before.origin == (number, index - 1):
                    assert at in joined, "a slur is cut only where its notes are apart on paper"
                seen += at in joined
    assert seen or "(" not in signed_piece(seed)


def test_bars_are_written_once_where_their_slurs_are_equal() -> None:
    (strain,) = first_part(band_of("(S R) g m (P m) g R || S R g m P m g R", 3)).strains
    assert slurs_as_tones(strain) == [(0, 2), (7, 5)]
    assert strain.measures[-1].times == 3
    unlike = "(S R) g m P m g R || S R (g m) P m g R || (S R) g m P m g R || S R g m P m g R"
    (strain,) = first_part(band_of(unlike, 1)).strains
    assert not any(measure.times for measure in strain.measures)


def test_bars_under_a_slur_are_not_written_as_those_without() -> None:
    bars = "(S R g m P m g R || S R g m P m g R || S R g m P m g) R"
    (strain,) = first_part(band_of(f"{bars} || " + "S R g m P m g R || " * 3, 1)).strains
    assert slurs_as_tones(strain) == [(0, 3)]
    first, last = next(slurs_of(strain.notes))
    assert last - first == 22


def test_a_slur_that_a_repeat_cuts_leaves_no_end_dangling() -> None:
    # The pickup is slurred to the first beat; from the second time on it stands before the sign.
    (strain,) = first_part(
        band_of("(P m || S R) g m P g R S || S R g m P g", 4, begins="7")
    ).strains
    ends = [note.slur for note in strain.notes if note.slur]
    assert ends[::2] == ["starts"] * (len(ends) // 2)
    assert ends[1::2] == ["ends"] * (len(ends) // 2)
    assert len(ends) >= 4


def test_a_slur_over_a_barline_stays_whole_where_bars_follow() -> None:
    (strain,) = first_part(band_of("S R g m P (m g R || S R g) m P m g R", 2)).strains
    assert slurs_as_tones(strain) == [(5, 3)]


def test_words_differ_and_bars_are_not_written_once() -> None:
    bar = "S R g m P m g R"
    (strain,) = first_part(band_of(f'{bar} || {bar} || !"dry"!{bar} || {bar} || {bar}', 1)).strains
    texts = [(note.start, note.text) for note in strain.notes if note.text]
    assert len(texts) == 1 and texts[0][1] == "dry"
    (start,) = (note.start for note in strain.notes if note.text)
    measure = next(m for m in strain.measures if m.start == start)
    assert not measure.forward or measure.times == 0


def test_a_score_has_words_once_and_slurs_for_everybody() -> None:
    one, other = score_sheets(band_of('(!"on cue"!S R) g m P m g R', 1))
    assert [note.text for note in one.strains[0].notes if note.text] == ["on cue"]
    assert not any(note.text for note in other.strains[0].notes)
    assert slurs_as_tones(one.strains[0]) == slurs_as_tones(other.strains[0])


def test_a_held_note_has_its_hairpin_and_its_cut_off_once() -> None:
    (strain,) = first_part(band_of("S R g m !cresc!!cut!P - - - || - - z z S R g m", 1)).strains
    marks = [note.marks for note in strain.notes if note.marks]
    assert [mark for mark in marks[0] if mark in ("cresc", "cut")] == ["cresc", "cut"]
    assert [note.marks for note in strain.notes].count(marks[0]) == 1
