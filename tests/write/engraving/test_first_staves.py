"""Every first staff says how it is read: clef, key and time signature, on the file and the page.

A reader looks for them at the beginning of a piece (E. Gould, Behind Bars, on the beginning of a
piece; from memory), and at the end of a staff for what changes on the next one.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

from support.bands import Band, band_of, cached_part, every_piece, part_element
from support.chart_systems import engrave_score, systems_by_letter
from support.making import piece_of

from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.courtesies import courtesies, courtesy_before
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.write.engraving.systems import engrave

BAND = "players:\n  flute: {plays: melody}\n  alto-sax: {plays: melody}\n  tabla: {plays: theka}\n"
TWO_LINES = "lines:\n  head: {sargam: S R G m | P d n S' | n d P m | G R S z}\n"
LATE = (
    f"{BAND}{TWO_LINES}form:\n  - {{play: head, by: [alto-sax], times: 6}}\n"
    "  - {solo: alto-sax, cycles: 2}\n  - {play: head, tonic: A}\n"
)
CHANGES = (
    f"{BAND}{TWO_LINES}  turn: {{sargam: S R G m P d n}}\n"
    "form:\n  - {play: head}\n  - {play: head, tonic: A}\n  - {play: head, tonic: A}\n"
    "  - {play: turn, cycle: rupak}\n"
)


def drawn(sheet: Sheet) -> list[Strain]:
    return [strain for strain in sheet.strains if not strain.silent]


@lru_cache(maxsize=64)
def parts(text: str) -> dict[str, Sheet]:
    band = Band(piece_of(text))
    return {player.name: part_sheet(band, player) for player in band.piece.players}


def groups(svg: str, kind: str) -> int:
    return len(re.findall(rf'class="{kind}[" ]', svg))


def shown_meters(sheet: Sheet) -> list[bool]:
    """Of the strains that are drawn, which have a time signature at their beginning."""
    return [
        groups(engrave(sheet, strain, first=strain.first).systems[0], "meterSig") > 0
        for strain in drawn(sheet)
    ]


@every_piece
def test_every_part_begins_with_clef_key_and_meter(name: str) -> None:
    band = band_of(name)
    for player in band.piece.players:
        sheet = cached_part(band, player)
        staves = drawn(sheet)
        if not staves or player.role.is_drone:
            continue
        attributes = part_element(band, player).find("measure/attributes")
        assert attributes is not None and attributes.find("clef") is not None
        assert (attributes.find("key") is None) == (staves[0].kind != "melody")
        assert attributes.find("time") is not None
        metered = next((strain for strain in staves if not strain.free), None)
        for strain in {id(one): one for one in (staves[0], metered) if one is not None}.values():
            system = engrave(sheet, strain, first=strain.first).systems[0]
            assert groups(system, "clef"), player.name
            assert (groups(system, "meterSig") > 0) == (not strain.free), player.name
        for before, strain in zip([None, *staves], staves, strict=False):
            new = before is None or before.free or before.cycle != strain.cycle
            assert strain.first == (new and not strain.free), (player.name, strain.letter)


@every_piece
def test_the_score_and_the_lead_sheet_begin_with_a_meter(name: str) -> None:
    band = band_of(name)
    sheets = score_sheets(band)
    shown = [at for at, s in enumerate(zip(*(p.strains for p in sheets), strict=True))
             if not all(strain.silent for strain in s)]  # fmt: skip
    metered = next(at for at in shown if not sheets[0].strains[at].free)
    assert all(sheet.strains[metered].first for sheet in sheets)
    svg = engrave_score(sheets, metered, first=True).systems[0]
    assert groups(svg, "meterSig") >= len(sheets)
    lead = sheet_of(band.piece)
    assert next(strain for strain in drawn(lead) if not strain.free).first


def test_a_player_who_rests_at_first_finds_the_meter_on_the_first_staff() -> None:
    flute = parts(LATE)["flute"]
    assert [strain.silent for strain in flute.strains] == [True, True, False]
    assert shown_meters(flute) == [True]


def test_after_a_free_passage_the_meter_is_shown_again() -> None:
    text = (
        f"{BAND}lines:\n  open: {{lands: free, sargam: S - R - G - m}}\n"
        "  head: {sargam: S R G m | P d n S' | n d P m | G R S z}\n"
        "form:\n  - {play: head}\n  - {free: open}\n  - {play: head}\n"
    )
    assert shown_meters(parts(text)["flute"]) == [True, False, True]


def test_a_change_of_key_or_meter_is_announced_at_the_end_of_the_staff_before() -> None:
    flute = parts(CHANGES)["flute"]
    staves = drawn(flute)
    found = list(courtesies(staves))
    assert [one is not None and one.key is not None for one in found] == [True, False, False, False]
    assert [one is not None and one.cycle is not None for one in found] == [
        False, False, True, False,
    ]  # fmt: skip
    tabla = list(courtesies(drawn(parts(CHANGES)["tabla"])))
    assert all(one is None or one.key is None for one in tabla), "drums read no key"
    for strain, courtesy in zip(staves, found, strict=True):
        plain = engrave(flute, strain, first=strain.first)
        ahead = engrave(flute, strain, first=strain.first, courtesy=courtesy)
        assert len(plain.systems) == len(ahead.systems)
        assert plain.systems[:-1] == ahead.systems[:-1]
        keys, meters = (
            groups(ahead.systems[-1], kind) - groups(plain.systems[-1], kind)
            for kind in ("keySig", "meterSig")
        )
        assert keys == (courtesy is not None and courtesy.key is not None)
        assert meters == (courtesy is not None and courtesy.cycle is not None)
    last = systems_by_letter(flute)[staves[0].letter][-1]
    assert groups(last, "keySig") == 2


def test_a_signature_without_signs_is_announced_by_naturals() -> None:
    text = CHANGES.replace("tonic: A}", "tonic: C, mode: bilawal}")
    flute = parts(text)["flute"]
    first, second, *_ = drawn(flute)
    assert second.key.fifths == 0 != first.key.fifths
    svg = systems_by_letter(flute)[first.letter][-1]
    naturals = re.findall(r'xlink:href="#E261-', svg)
    assert len(naturals) == abs(first.key.fifths)


def test_a_score_announces_the_meter_on_each_staff() -> None:
    sheets = score_sheets(Band(piece_of(CHANGES)))
    plain = engrave_score(sheets, 2, first=False).systems
    ahead = engrave_score(sheets, 2, first=False, following=3).systems
    assert len(plain) == len(ahead)
    assert groups(plain[-1], "meterSig") == 0
    assert groups(ahead[-1], "meterSig") == len(sheets)
    assert engrave_score(sheets, 0, first=True, following=1).systems == (
        engrave_score(sheets, 0, first=True).systems
    ), "no meter changes there"


def test_what_comes_after_a_sign_is_not_announced() -> None:
    """After a D.S. the next staff on the page is not the next that is played."""
    staves = drawn(parts(CHANGES)["flute"])
    last = replace(staves[0].measures[-1], jumps=("D.S. al Coda",))
    jumping = replace(staves[0], measures=(*staves[0].measures[:-1], last))
    assert courtesy_before(staves[0], staves[1]) is not None
    assert courtesy_before(jumping, staves[1]) is None
