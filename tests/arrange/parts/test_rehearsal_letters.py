"""One rehearsal letter, one place: each stands at the same played bar in every part.

Gould, Behind Bars, "Rehearsal marks" (from memory): they are the same in score and parts.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from support.bands import (
    band_of,
    cached_part,
    every_piece,
    part_element,
    random_form,
    random_stand_form,
    read,
)
from support.playing_musicxml import playing_order

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet_with_places
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.arrange.sheet.road_map import form_letter


def first_cycles(band: Band) -> dict[str, int]:
    """The number of the first cycle of each step that has one, by letter."""
    firsts: dict[str, int] = {}
    for passage in band.passages:
        numbers = [bar.number for bar in passage.bars if bar.number]
        if passage.step >= 0 and numbers:
            firsts[form_letter(passage.step)] = numbers[0]
    return firsts


def lettered_cycles(sheet: Sheet) -> Iterator[tuple[str, int]]:
    """The letters over staves or rests that are written, with the number of the first cycle."""
    for strain in sheet.strains:
        numbers = [measure.cycle for measure in strain.measures if measure.cycle]
        if strain.shown_letter and numbers and not strain.free:
            yield strain.shown_letter, numbers[0]


def check_letters(band: Band) -> None:
    firsts = first_cycles(band)
    every = [form_letter(passage.step) for passage in band.passages if passage.step >= 0]
    for player in band.piece.players:
        sheet, places = part_sheet_with_places(band, player)
        assert [strain.shown_letter for strain in sheet.strains if strain.shown_letter] == every
        for letter, number in lettered_cycles(sheet):
            assert firsts[letter] == number, (player.name, letter)
        # What is read under a letter is played in its step, from the step's first bar on.
        for passage in band.passages:
            bars = [bar for bar in passage.bars if bar.stretch.kind != "count-in"]
            if passage.step < 0 or player.plays == "drone" or not bars:
                continue
            place = places[band.bars.index(bars[0])]
            strain = sheet.strains[place.strain]
            row = next(s for s in sheet.strains if s.letter == form_letter(passage.step))
            assert strain is row or (row.staff_text and not row.measures), (player.name, row.letter)


@every_piece
def test_each_letter_stands_at_the_same_cycle_in_every_part(name: str) -> None:
    check_letters(band_of(name))


def test_so_in_any_form() -> None:
    for seed in range(50, 60):
        check_letters(Band(read(random_stand_form(seed))))
        check_letters(Band(read(random_form(seed))))


@every_piece
def test_so_in_the_score(name: str) -> None:
    band = band_of(name)
    firsts = first_cycles(band)
    for sheet in score_sheets(band):
        assert all(firsts[letter] == number for letter, number in lettered_cycles(sheet))


@every_piece
def test_so_in_the_files(name: str) -> None:
    band = band_of(name)
    firsts = first_cycles(band)
    for player in band.piece.players:
        if player.plays == "drone" or not any(
            s.measures for s in cached_part(band, player).strains
        ):
            continue
        measures = list(part_element(band, player).iterfind("measure"))
        order = playing_order(measures)
        letters = [measure.findtext(".//rehearsal") for measure in measures]
        told = [letter for letter in letters if letter]
        assert len(set(told)) == len(told)
        for at, letter in enumerate(letters):
            number = str(measures[at].get("number"))
            if letter in firsts and number.isdigit():
                assert int(number) == firsts[letter], (player.name, letter)
                assert at in order


BAND = "players:\n  flute: {plays: melody}\n  alto-sax: {plays: melody}\n  tabla: {plays: theka}\n"


@pytest.mark.parametrize("times", [1, 2])
def test_a_step_played_from_the_sign_keeps_its_letter(times: int) -> None:
    # The head comes again, but its last cycle leads into the cadence.
    text = (
        f"title: A\ntonic: D\nmode: charukeshi\ncycle: rupak\ntempo: 92\n{BAND}lines:\n"
        "  head: {sargam: S R G m P d n | S' n d P m G R | S R G m P d n | G m P d n S' R' |"
        " n d P m G R S | S G R m G P m | P m G R S n, S}\n"
        '  out: {begins: 6, sargam: "d n S"}\n'
        f"form:\n  - {{play: head, times: {times}}}\n  - {{solo: flute, cycles: 8}}\n"
        "  - play: head\n  - play: out\n"
    )
    band = Band(read(text))
    sheet, _ = part_sheet_with_places(band, band.piece.players[0])
    rows = [(one.shown_letter, one.name, one.staff_text, bool(one.measures))
            for one in sheet.strains]  # fmt: skip
    words = ", no repeats" if times > 1 else ""
    first = 7 * times + 8 + 1
    replayed = f"D.S. al Coda{words} (cycles {first}–{first + 5})"
    assert rows == [
        ("A", "head", "", True),
        ("B", "solo Flute", "", True),
        ("C", "head", replayed, False),
        ("", "coda", "", True),
        ("D", "out", "", True),
    ]
    coda = sheet.strains[3]
    numbers = {measure.cycle for measure in coda.measures}
    assert numbers == {7 * times + 8 + 7}
    assert [jump for measure in coda.measures for jump in measure.jumps] == ["coda"]
    assert sheet.strains[2].remark.startswith("as A")
