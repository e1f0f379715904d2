"""The chords over a melody of the lead sheet, from the first step that plays them together."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from support.making import piece_of

from cyclechart.arrange.sheet.chords_over import chords_over
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.piece.model import Piece
from cyclechart.piece.steps import Play


def piece_with(head: str, comp: str) -> Piece:
    """A piece whose second step plays both lines."""
    piece = piece_of(
        "cycle: keherwa\nmode: bilawal\nplayers: {flute: , guitar: {plays: voicings}}\nlines:\n"
        f"  head: {head}\n  comp: {comp}\nform: [{{play: head}}, {{play: head}}]\n"
    )
    step = piece.form[1]
    assert isinstance(step, Play)
    both = replace(step, parts=(("head", ("flute",)), ("comp", ("guitar",))))
    return replace(piece, form=(piece.form[0], both))


def shown(piece: Piece, end: int) -> list[tuple[str, str]]:
    found = chords_over(piece, ("head", piece.cycle, piece.tonic), Fraction(end))
    return [(str(at), chord.in_letters(piece.tonic)) for at, chord in found]


def test_a_loop_goes_round_as_long_as_the_melody() -> None:
    piece = piece_with(
        "{sargam: 'S - - - | P - - - || m - - - | G - R -'}", "{chords: 'Dm7 - -G7 - | A7 - - -'}"
    )
    assert shown(piece, 16) == [
        ("0", "Dm7"), ("5/2", "G7"), ("4", "A7"), ("8", "Dm7"), ("21/2", "G7"), ("12", "A7"),
    ]  # fmt: skip


def test_bodies_begin_together_and_a_pickup_of_chords_is_left_out() -> None:
    piece = piece_with(
        "{begins: 7, sargam: 'P d | S - - - | P - - -'}",
        "{begins: 8, chords: 'A7 | Dm7 - - - | G7 - - -'}",
    )
    assert shown(piece, 8) == [("0", "Dm7"), ("4", "G7")]


def test_a_melody_alone_has_none() -> None:
    piece = piece_with("{sargam: 'S - - - | P - - -'}", "{chords: 'Dm7 - - - | G7 - - -'}")
    assert shown(piece, 8)
    assert not shown(replace(piece, form=piece.form[:1]), 8)
    place = ("comp", piece.cycle, piece.tonic)
    assert not chords_over(piece, place, Fraction(8))


def test_chords_beneath_a_step_stand_over_its_melody() -> None:
    piece = piece_of(
        "players: {flute: {plays: melody}, guitar: {plays: voicings}}\ncycle: keherwa\n"
        "under: {guitar: [one, two]}\n"
        "lines:\n  head: {sargam: (S R G m P m G R)*3}\n"
        "  one: {chords: D - - - - - - -}\n  two: {chords: A7 - - - G - - -}\n"
        "form:\n  - play: {flute: head}\n"
    )
    strain = next(one for one in sheet_of(piece).strains if one.name == "head")
    assert [(at, chord.in_letters(piece.tonic)) for at, chord in strain.symbols] == [
        (0, "D"), (8, "A7"), (12, "G"), (16, "D"),
    ]  # fmt: skip
