"""Whole MusicXML documents as golden files: lead sheets, parts, a score."""

from __future__ import annotations

import random
import re

import pytest
from support.dense import dense_band, dense_part, dense_piece
from support.goldens import check_golden
from support.making import ROOT, piece_of

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.piece.load import load
from cyclechart.write.musicxml.document import (
    band_xml,
    part_xml,
    score_xml,
    strain_xml,
    strains_xml,
)
from cyclechart.write.musicxml.measures import MIDDLE_LINE
from cyclechart.write.musicxml.rhythm import spell_measure
from cyclechart.write.musicxml.signatures import CLEFS, DIATONIC_STEPS


def as_text(document: bytes) -> str:
    """The document, with our version pinned."""
    text = document.decode("utf-8")
    return re.sub(r"<software>cyclechart [^<]*<", "<software>cyclechart VERSION<", text)


@pytest.mark.parametrize("stem", ["lock-eleven", "salt-road"])
def test_the_lead_sheet_of_a_demo_piece_is_the_golden_one(stem: str) -> None:
    piece = load(ROOT / "pieces" / f"{stem}.yaml", ["foreign-tone"]).piece
    assert piece is not None
    check_golden(f"{stem}.musicxml", as_text(score_xml(sheet_of(piece))))


def test_the_lead_sheet_of_the_dense_piece_is_the_golden_one() -> None:
    check_golden("dense.musicxml", as_text(score_xml(sheet_of(dense_piece()))))


@pytest.mark.parametrize("player", ["alto-sax", "violin", "tabla"])
def test_a_part_of_the_dense_piece_is_the_golden_one(player: str) -> None:
    check_golden(f"dense-{player}.musicxml", as_text(part_xml(dense_part(player))))


def test_the_score_of_two_players_is_the_golden_one() -> None:
    sheets = [sheet for sheet in score_sheets(dense_band()) if _player(sheet) in ("flute", "tabla")]
    check_golden("dense-score.musicxml", as_text(band_xml(sheets)))


def _player(sheet: Sheet) -> str:
    return sheet.reader.player if sheet.reader else ""


EXTRA = """\
title: Extra
tonic: A
mode: yaman
cycle: rupak
tempo: 133 1/3
players: {flute: , trumpet: , tabla: , piano: {plays: voicings}}
lines:
  head:
    sargam: |
      {RGM}P - z | z z | S N, || - - - | - z | z z ||
      {N}S {SRG}M P | z/2 G/2 - | - S ||
  odd:
    begins: 4
    sargam: |
      {G}S~ !trill!P | !tenuto!M - || [S z G]x3/2 P | SRGMP z SRGz | S -GzM- ||
  talk: {strokes: "{te}dha - tirakita | dhage na | - z ||"}
form:
  - {play: head, times: 3}
  - {groove: 3}
  - {play: odd, times: 2, by: [trumpet]}
  - {play: talk}
  - {play: head, by: [flute], cycle: jhaptal}
"""


def test_an_extra_piece_is_the_golden_one() -> None:
    piece = piece_of(EXTRA)
    check_golden("extra.musicxml", as_text(score_xml(sheet_of(piece))))
    band = Band(piece)
    for player in band.piece.players[:2]:
        part = part_xml(part_sheet(band, player))
        check_golden(f"extra-{player.name}.musicxml", as_text(part))


def test_strains_for_the_engraver_are_the_golden_ones() -> None:
    band = Band(piece_of(EXTRA))
    sheets = [sheet for sheet in score_sheets(band) if _player(sheet) in ("trumpet", "tabla")]
    text = ""
    for at in range(len(sheets[0].strains)):
        strains = [sheet.strains[at] for sheet in sheets]
        text += as_text(strains_xml(sheets, strains, first=at == 0, breaks=[1]))
    text += as_text(strain_xml(dense_part("violin"), dense_part("violin").strains[0], first=True))
    check_golden("strains.musicxml", text)


def test_rhythms_are_spelled_as_the_golden_text_has_it() -> None:
    dice = random.Random(3)
    lines = []
    for _ in range(120):
        beat = dice.choice([2, 4, 6, 8, 12, 12, 20, 24, 28])
        length = max(1, dice.randint(1, 4) * beat + dice.choice([0, 0, beat // 2]))
        lead = dice.choice([0, 0, beat // 2])
        unit = dice.choice([1, 1, 2, beat // 2, beat])
        inner = [at for at in range(unit, length, unit) if dice.random() < 0.5]
        bounds = (0, *inner, length)
        rests = tuple(dice.random() < 0.25 for _ in bounds[1:])
        whole = dice.random() < 0.5
        lines.append(f"{beat} {length} {lead} {bounds} {''.join('-z'[rest] for rest in rests)}")
        for piece in spell_measure(beat, length, lead, bounds, rests, whole):
            tuplet = piece.tuplet
            inside = f"{tuplet.actual}:{tuplet.normal} {tuplet.shown}" if tuplet else ""
            signs = "".join(
                sign
                for sign, on in zip(
                    "([])", (piece.opens, piece.to_tie, piece.from_tie, piece.closes), strict=True
                )
                if on
            )
            beams = ",".join(piece.beams)
            said = f"{piece.start} {piece.length} {piece.span} {piece.type}{'.' * piece.dots}"
            lines.append(f"  {said} {inside} {signs} {beams}".rstrip())
    check_golden("rhythms.txt", "\n".join(lines) + "\n")


@pytest.mark.parametrize(
    ("stem", "player", "word"),
    [("ferry-at-first-light", "alto-sax", "<ending "), ("salt-road", "flute", "tocoda=")],
    ids=["ending", "coda"],
)
def test_a_part_with_endings_or_jumps_is_the_golden_one(stem: str, player: str, word: str) -> None:
    piece = load(ROOT / "pieces" / f"{stem}.yaml").piece
    assert piece is not None
    band = Band(piece)
    reader = next(one for one in piece.players if one.name == player)
    document = as_text(part_xml(part_sheet(band, reader)))
    assert word in document
    check_golden(f"{stem}-{player}.musicxml", document)


@pytest.mark.parametrize("player", ["guitar", "double-bass"])
def test_a_part_of_chords_or_low_notes_is_the_golden_one(player: str) -> None:
    check_golden(f"dense-{player}.musicxml", as_text(part_xml(dense_part(player))))


def test_the_middle_line_is_counted_from_the_line_of_each_clef() -> None:
    letters, signs = "CDEFGAB", {"G": ("G", 4), "C": ("C", 4), "F": ("F", 3)}
    for clef, (sign, line, octave) in CLEFS.items():
        if sign in signs:
            letter, at = signs[sign]
            steps = letters.index(letter) + 7 * (at + octave) + 2 * (3 - line)
            assert MIDDLE_LINE[clef] == (letters[steps % 7], steps // 7)


def test_intervals_are_named_as_instruments_transpose() -> None:
    # Unison, seconds, thirds, fourths (the tritone is one), fifths, sixths, sevenths.
    assert [DIATONIC_STEPS.count(steps) for steps in range(7)] == [1, 2, 2, 2, 1, 2, 2]
    assert list(DIATONIC_STEPS) == sorted(DIATONIC_STEPS)
