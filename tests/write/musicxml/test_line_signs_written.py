"""Slurs, words, hairpins and cut-offs in MusicXML: valid, closed, and read alike by music21."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import music21
import pytest
from support.making import load_text, piece_of
from support.reading_musicxml import Element, parsed
from support.signed_pieces import signed_piece

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.piece.hairpins_and_slurs import hairpins_of, slurs_of
from cyclechart.piece.note import Note
from cyclechart.write.musicxml.document import band_xml, part_xml, score_xml, strain_xml
from cyclechart.write.musicxml.hairpins import LONGEST_WEDGE
from cyclechart.write.musicxml.staff import clean_text

SEEDS = range(12)
Span = tuple[Fraction, Fraction]


def placed_notes(sheet: Sheet) -> Iterator[tuple[Fraction, tuple[Note, ...]]]:
    """The notes of each strain, and what has to be added to their starts."""
    base = Fraction(0)
    for strain in sheet.strains:
        begin = strain.measures[0].start
        yield base - begin, strain.notes
        base += strain.measures[-1].end - begin


def expected_slurs(sheet: Sheet) -> list[Span]:
    return [
        (base + notes[first].start, base + notes[last].end)
        for base, notes in placed_notes(sheet)
        for first, last in slurs_of(notes)
    ]


def expected_hairpins(sheet: Sheet, *, wedges: bool) -> list[tuple[str, Fraction, Fraction]]:
    return [
        (pin.kind, base + notes[pin.first].start, base + notes[pin.last].end)
        for base, notes in placed_notes(sheet)
        for pin in hairpins_of(notes)
        if (notes[pin.last].end - notes[pin.first].start <= LONGEST_WEDGE) == wedges
    ]


def read_part(document: bytes) -> music21.stream.Part:
    score = music21.converter.parse(document.decode(), format="musicxml")
    return score.parts[0]


def span(part: music21.stream.Part, spanner: music21.spanner.Spanner) -> Span:
    first, last = spanner.getFirst(), spanner.getLast()
    start = Fraction(first.getOffsetInHierarchy(part))
    end = Fraction(last.getOffsetInHierarchy(part)) + Fraction(last.quarterLength)
    return start.limit_denominator(1000), end.limit_denominator(1000)


def kind_end(wedge: tuple[str, Fraction, Fraction]) -> tuple[str, Fraction]:
    return wedge[0], wedge[2]


def check_closed(root: Element) -> None:
    """Each slur, wedge and line of dashes begins and ends by turns, in each part."""
    for part in root.iterfind("part"):
        for tag in ("slur", "wedge", "dashes"):
            kinds = [str(element.get("type")) for element in part.iter(tag)]
            assert len(kinds) % 2 == 0, tag
            assert all(kind != "stop" for kind in kinds[::2]), tag
            assert all(kind == "stop" for kind in kinds[1::2]), tag


@pytest.mark.parametrize("seed", SEEDS)
def test_signs_are_valid_and_closed_in_every_document(seed: int) -> None:
    piece = load_text(signed_piece(seed)).piece
    assert piece is not None
    band = Band(piece)
    lead = sheet_of(piece)
    check_closed(parsed(score_xml(lead)))
    check_closed(parsed(band_xml(score_sheets(band))))
    for player in piece.players:
        if player.role.reads_staff:
            sheet = part_sheet(band, player)
            check_closed(parsed(part_xml(sheet)))
            for strain in sheet.strains:
                check_closed(parsed(strain_xml(sheet, strain, first=strain.first)))


@pytest.mark.parametrize("seed", SEEDS)
def test_music21_reads_the_same_slurs_wedges_and_words(seed: int) -> None:
    # Without grace notes, on which music21 hangs a wedge and then copies them.
    piece = load_text(signed_piece(seed).replace("{R}", "")).piece
    assert piece is not None
    band = Band(piece)
    flute = next(player for player in piece.players if player.name == "flute")
    seen = 0
    sheet = part_sheet(band, flute)
    part = read_part(part_xml(sheet))
    slurs = [span(part, slur) for slur in part.spannerBundle.getByClass("Slur")]
    assert sorted(slurs) == sorted(expected_slurs(sheet))
    wedges = [
        ("cresc" if isinstance(wedge, music21.dynamics.Crescendo) else "dim", *span(part, wedge))
        for wedge in part.spannerBundle.getByClass("DynamicWedge")
    ]
    # Of a wedge and a bracket that start on one note music21 puts the wedge on the next.
    brackets = {
        base + strain.notes[bracket.first].start
        for (base, _), strain in zip(placed_notes(sheet), sheet.strains, strict=True)
        for bracket in strain.brackets
    }
    expected = sorted(expected_hairpins(sheet, wedges=True))
    assert [kind_end(wedge) for wedge in sorted(wedges, key=kind_end)] == sorted(
        map(kind_end, expected)
    )
    assert {wedge for wedge in expected if wedge[1] not in brackets} <= set(wedges)
    texts = {
        (Fraction(text.getOffsetInHierarchy(part)).limit_denominator(1000), text.content)
        for text in part.recurse().getElementsByClass("TextExpression")
    }
    for base, notes in placed_notes(sheet):
        for note in notes:
            if note.text:
                assert (base + note.start, clean_text(note.text)) in texts
                seen += 1
    assert seen or '"!' not in signed_piece(seed)


def part_of(sargam: str, times: int = 1, cycle: str = "keherwa") -> Sheet:
    text = (
        "players:\n  flute: {plays: melody}\n"
        f"lines:\n  head:\n    sargam: |\n      {sargam}\n"
        f"form:\n  - play: head\n    times: {times}\n"
    )
    band = Band(piece_of(text, cycle=cycle, mode="kafi"))
    return part_sheet(band, band.piece.players[0])


def test_a_long_hairpin_is_a_word_with_dashes() -> None:
    sheet = part_of("!p!!cresc!S R g m P m g R | g m P D n D P m | !f!P m g R S R g m")
    root = parsed(part_xml(sheet))
    assert [w.text for w in root.iter("words") if w.text == "cresc."] == ["cresc."]
    assert [d.get("type") for d in root.iter("dashes")] == ["start", "stop"]
    assert not list(root.iter("wedge"))
    # The dynamic and the word are one text, and cannot stand upon one another.
    (direction,) = (
        d
        for d in root.iter("direction")
        if d.find("direction-type/dashes[@type='start']") is not None
    )
    assert direction.find("direction-type/dynamics/p") is not None


def test_a_dynamic_is_written_again_after_a_hairpin() -> None:
    root = parsed(part_xml(part_of("!f!S R !dim!g m !f!P m g R | !f!S R g m P m g R")))
    assert [d[0].tag for d in root.iter("dynamics")] == ["f", "f"]


def test_a_hairpin_ends_with_its_line_when_that_is_repeated() -> None:
    sheet = part_of("S R g m P m g R | n, S R !cresc!g m P m g", times=3)
    root = parsed(part_xml(sheet))
    wedges = [
        (m.get("number"), w.get("type")) for m in root.iter("measure") for w in m.iter("wedge")
    ]
    assert wedges == [("2", "crescendo"), ("2b", "stop")], "it is written once"
    assert [r.get("times") for r in root.iter("repeat") if r.get("times")] == ["3"]


def test_a_cut_off_is_a_caesura_on_the_last_tied_value() -> None:
    root = parsed(part_xml(part_of("S R g !cut!m - - - - | - z z z P m g R")))
    notes = [note for note in root.iter("note") if note.find("notations//caesura") is not None]
    (note,) = notes
    assert note.find("tie[@type='start']") is None


def test_hostile_words_are_text() -> None:
    words = "</words><script>alert('x')</script>&lt;\u202e]]>"
    root = parsed(part_xml(part_of(f'!"{words}"!S R g m P m g R')))
    found = [w.text for w in root.iter("words")]
    assert "</words><script>alert('x')</script>&lt;]]>" in found
    assert not list(root.iter("script"))
