"""Parts for the page: the times of their elements, against the timeline and against a player of
MusicXML that knows nothing of our folds; and the drawings, which have all that a page needs."""

from __future__ import annotations

import base64
import json
import pickle
import re
import zlib
from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

import pytest
from lxml import etree
from support.bands import (
    NAMES,
    band_of,
    every_piece,
    part_element,
    part_with_places,
    parts_of,
    staves,
)  # fmt: skip
from support.making import ROOT, load_text
from support.playing_musicxml import playing_order
from write.musicxml.test_parts_written import expected, random_band

from cyclechart.arrange.clock import clock_of
from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.bar_places import BarPlace
from cyclechart.arrange.parts.dal_segno import jump_of
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.arrange.transpose import transposed
from cyclechart.piece.player import Player
from cyclechart.theory.spelling import TONICS
from cyclechart.write.files.cache import FolderCache, MemoryCache
from cyclechart.write.musicxml.note_ids import WrittenNote, written_notes
from cyclechart.write.webpage.parts import (
    packed_parts,
    part_data,
)
from cyclechart.write.webpage.schema import PartData
from cyclechart.write.webpage.svg_slimming import ids_of

DRAWN = ["silt-and-lanterns", "the-delta-post", "two-tides", "29"]
"""Pieces whose parts have between them all kinds of notes and measures that are drawn."""
drawn_pieces = pytest.mark.parametrize("name", DRAWN)


@lru_cache(maxsize=256)
def drawn_part(name: str, player: str) -> PartData | None:
    """A part of a piece, drawn once for all tests."""
    band = band_of(name)
    return part_data(band, next(one for one in band.piece.players if one.name == player))


def places_of(band: Band, player: Player) -> dict[int, BarPlace]:
    return part_with_places(band, player)[1]


NOTE = re.compile(r"n-([A-Z]+[a-z]*)-(\d+)(-\d+)?")
Span = tuple[Fraction, Fraction, PartNote, bool]
"""A written note in a bar: start and end in beats of the bar as played, the note, and True if it is
struck there."""


@lru_cache(maxsize=256)
def spans_of_bars(band: Band, player: Player) -> dict[int, list[Span]]:
    """Return the written notes at the place of each bar, but for free passages."""
    sheet, places = part_with_places(band, player)
    written = [written_notes(strain) for strain in sheet.strains]
    by_place: dict[BarPlace, list[Span]] = {}
    for place in places.values():
        strain = sheet.strains[place.strain]
        if place not in by_place and not strain.free:
            by_place[place] = list(spans_at(strain, place, written[place.strain]))
    return {index: by_place[place] for index, place in places.items() if place in by_place}


def spans_at(strain: Strain, place: BarPlace, written: list[WrittenNote]) -> Iterator[Span]:
    for start, end, name in written:
        if place.at <= start < place.end:
            match = NOTE.fullmatch(name)
            assert match is not None and match[1] == strain.letter
            note = strain.notes[int(match[2])]
            assert isinstance(note, PartNote)
            struck = not match[3] and not note.tied_in
            yield place.played(start), place.played(end), note, struck


@every_piece
def test_every_composed_note_is_marked_at_its_onset(name: str) -> None:
    band = band_of(name)
    for player, sheet in staves(name):
        if player.plays != "melody":
            continue
        assert sheet.reader is not None
        marked = []
        for index, place in sorted(places_of(band, player).items()):
            bar, strain = band.bars[index], sheet.strains[place.strain]
            if strain.free:
                continue
            sounding = strain.key.tonic.midi + strain.key.shift + sheet.reader.transposes
            for start, _, note, struck in spans_of_bars(band, player)[index]:
                if struck and not note.head:
                    assert note.pitch is not None
                    marked.append((bar.start + start, sounding + note.pitch))
        # What lands in a free passage is marked there, too: the next test but two.
        free = [bar for bar in band.bars if bar.stretch.kind == "free"]
        metered = [
            (start, key)
            for start, key in expected(band, player)
            if not any(bar.start <= start < bar.end for bar in free)
        ]
        assert marked == metered, player.name


@every_piece
def test_what_is_marked_in_a_bar_is_what_its_player_has_there(name: str) -> None:
    # Note by note, slashes and rings over the barline included, for all who read a staff.
    band = band_of(name)
    for player, sheet in staves(name):
        held = band.fragments[player.name]
        told = places_of(band, player)
        for index, bar in enumerate(band.bars):
            if index not in told:
                assert bar.stretch.kind == "count-in" or bar.stretch.step < 0
                continue
            strain = sheet.strains[told[index].strain]
            assert strain.letter == band.road[bar.stretch.step].letter or jump_of(band)
            if strain.free:
                continue
            spans = spans_of_bars(band, player)[index]
            cue = [one for one in spans if one[2].head == "cue" and one[2].pitch is not None]
            slashed = all(one.slash for one in held[index]) and held[index]
            theka = slashed and spans and spans[0][2].head != "slash"
            if cue or theka:
                continue
            starts = {start for start, _, note, _ in spans}
            begun = {one.note.start for one in held[index]}
            assert begun <= starts, (player.name, index)
            filled = sum((end - start for start, end, _, _ in spans), Fraction(0))
            assert filled == sum((one.note.length for one in held[index]), Fraction(0))


@every_piece
def test_a_soloist_has_a_slash_on_every_beat_that_is_his(name: str) -> None:
    band = band_of(name)
    for player, _ in staves(name):
        for index, bar in enumerate(band.bars):
            if bar.stretch.kind != "metered" or bar.stretch.soloist != player.name:
                continue
            spans = spans_of_bars(band, player)[index]
            for _, at, length in bar.stretch.cycle.walk():
                if at < bar.length and player.plays != "theka":
                    assert any(start < at + length and at < end for start, end, _, _ in spans)


def by_rules(band: Band, player: Player) -> list[int]:
    """The measures of a part's file in the order that the independent player takes them."""
    return playing_order(list(part_element(band, player).iterfind("measure")))


def by_map(band: Band, player: Player, sheet: Sheet) -> list[int]:
    """The same by our map: of each bar the measures that stand where it does."""
    count = 0
    of_strain: list[list[tuple[Fraction, int]]] = []
    for strain in sheet.strains:
        held = []
        for measure in strain.measures:
            for rest in range(max(1, measure.rests)):
                held.append((measure.start + rest * strain.cycle.beats, count))
                count += 1
        of_strain.append(held)
    played: list[int] = []
    for _, place in sorted(places_of(band, player).items()):
        first = bisect_right(of_strain[place.strain], (place.at, -1))
        for start, number in of_strain[place.strain][first:]:
            if start < place.end:
                played.append(number)
    return played


@every_piece
def test_the_measures_are_played_in_the_order_of_the_rules(name: str) -> None:
    band = band_of(name)
    for player, sheet in staves(name):
        if any(strain.measures for strain in sheet.strains):
            assert by_map(band, player, sheet) == by_rules(band, player), player.name


@pytest.mark.parametrize("name", ["100"])
def test_one_of_these_has_endings_repeats_and_jumps(name: str) -> None:
    assert name in NAMES and jump_of(band_of(name)) is not None
    measures = [
        measure
        for sheet in parts_of(name).values()
        for strain in sheet.strains
        for measure in strain.measures
    ]
    assert any(m.ending for m in measures) and any(m.times > 2 for m in measures)
    assert any(m.rests > 1 for m in measures) and any(m.jumps for m in measures)


@drawn_pieces
def test_ids_are_there_once_and_every_note_is_played(name: str) -> None:
    band = band_of(name)
    clock = clock_of(band.timeline)
    for player, sheet in staves(name):
        part = drawn_part(name, player.name)
        if part is None:
            assert all(strain.silent for strain in sheet.strains)
            continue
        ids = [one for system in part["systems"] for one in ids_of(system)]
        everything = re.findall(r' id="([^"]+)"', "".join(part["systems"]))
        assert len(set(everything)) == len(everything)
        assert set(re.findall(r'href="#([^"]+)"', "".join(part["systems"]))) <= set(everything)
        drawn = {one for one in ids if one.startswith("n-")}
        assert {one for _, _, one in part["notes"]} == drawn
        assert {one for _, _, one in part["measures"]} <= set(ids) - drawn
        starts = [start for start, _, _ in part["notes"]]
        assert starts == sorted(starts)
        assert all(start < end for start, end, _ in part["notes"])
        assert not starts or starts[0] >= 0
        assert (
            max(end for _, end, _ in part["notes"])
            <= float(clock.seconds(band.timeline.end)) + 1e-4
        )
        for at, letter, _, _ in part["heads"]:
            assert 0 <= at <= len(part["systems"])
            assert letter in {strain.letter for strain in sheet.strains}


@drawn_pieces
def test_composed_notes_are_marked_at_their_second(name: str) -> None:
    band = band_of(name)
    clock = clock_of(band.timeline)
    for player, _ in staves(name):
        part = drawn_part(name, player.name)
        if part is None or player.plays != "melody":
            continue
        starts = Counter(start for start, _, _ in part["notes"])
        for time, _ in expected(band, player):
            assert starts[round(float(clock.seconds(time)), 5)], (player.name, time)


@pytest.mark.parametrize("seed", [42])
def test_where_measures_are_cut_between_systems_all_notes_are_marked(seed: int) -> None:
    # Beats too full for a line: a cut measure has its notes spelled otherwise.
    band = Band(random_band(seed))
    cello = next(one for one in band.piece.players if one.name == "cello")
    sheet = part_sheet(band, cello)
    part = part_data(band, cello)
    assert part is not None
    ids = [one for system in part["systems"] for one in ids_of(system)]
    measures = sum(len(one.measures) for one in sheet.strains if not one.silent)
    assert sum(one.startswith("m-") for one in ids) > measures
    assert {one for _, _, one in part["notes"]} == {one for one in ids if one.startswith("n-")}
    assert {one for _, _, one in part["measures"]} == {one for one in ids if one.startswith("m-")}
    starts = Counter(start for start, _, _ in part["notes"])
    clock = clock_of(band.timeline)
    for time, _ in expected(band, cello):
        assert starts[round(float(clock.seconds(time)), 5)]


TRIO = "  flute: {plays: melody}\n  double-bass: {plays: pedal}\n  tanpura: {plays: drone}\n"
SEVEN = (
    "  flute: {plays: melody}\n  alto-sax: {plays: melody}\n  guitar: {plays: voicings}\n"
    "  double-bass: {plays: pedal}\n  tabla: {plays: theka}\n  drum-kit: {plays: theka}\n"
    "  tanpura: {plays: drone}\n"
)


def piece_of(form: str, more: str = "", players: str = TRIO) -> Band:
    text = (
        "title: Small\ntonic: D\nmode: yaman\ncycle: jhaptal\ntempo: 60\ncount-in: 0\n"
        f"players:\n{players}"
        "lines:\n  one:\n    sargam: S R G M P D N S' N D\n"
        "  two:\n    sargam: S' N D P M G R S - -\n"
        f"  open:\n    lands: free\n    sargam: S - G - P - S'\n{more}form:\n{form}"
    )
    result = load_text(text, ROOT)
    assert result.piece is not None, result.findings
    return Band(result.piece)


def notes_of(band: Band, player: str = "flute") -> list[tuple[float, float, str]]:
    one = next(one for one in band.piece.players if one.name == player)
    part = part_data(band, one)
    assert part is not None
    return part["notes"]


def test_a_repeat_is_followed_twice() -> None:
    notes = notes_of(piece_of("  - play: one\n    times: 2\n"))
    assert [name for _, _, name in notes] == [f"n-A-{at}" for at in range(10)] * 2
    assert [start for start, _, _ in notes] == list(map(float, range(20)))


def test_a_free_line_is_spread_over_its_seconds() -> None:
    form = "  - free: open\n    by: [flute]\n    seconds: 14\n  - play: one\n"
    band = piece_of(form)
    notes = notes_of(band)
    assert [(start, end) for start, end, _ in notes[:4]] == [(0, 4), (4, 8), (8, 12), (12, 14)]
    assert notes[4] == (14.0, 15.0, "n-B-0")
    # The bass holds Sa through it.
    held = [(start, end) for start, end, name in notes_of(band, "double-bass") if "-A-" in name]
    assert held[0][0] == 0 and held[-1][1] == 14


def test_slashes_of_a_free_solo_are_spread_over_its_seconds() -> None:
    notes = notes_of(piece_of("  - free: flute\n    seconds: 10\n  - play: one\n"))
    opening = [(start, end) for start, end, name in notes if "-A-" in name]
    assert opening == [(0, 2.5), (2.5, 5), (5, 7.5), (7.5, 10)]


def test_what_is_played_from_the_sign_is_marked_there() -> None:
    form = "".join(
        f"  - play: {line}\n    times: 2\n" for line in ("one", "two", "two", "one", "one")
    )
    form = form + "  - solo: flute\n    cycles: 2\n" + form
    band = piece_of(form)
    jump = jump_of(band)
    assert jump is not None
    by_start = {start: name for start, _, name in notes_of(band)}
    at = float(band.bars[jump.from_bar].start)
    assert (
        by_start[at].startswith("n-")
        and by_start[at] == by_start[float(band.bars[jump.sign].start)]
    )


def test_of_endings_the_last_is_played_from_the_sign() -> None:
    # The pickup of what follows makes the last time of the first line end otherwise.
    more = (
        "  long:\n    sargam: >-\n      S R G M P D N S' N D || P M G R S R G M P D ||\n"
        "      N D P M G R S R G R || P P P P P G G G G G\n"
        "  led:\n    begins: 9\n    sargam: S R || G M P D N S' N D P M || G - - - - - - -\n"
    )
    form = (
        "  - play: long\n    times: 2\n  - play: led\n  - solo: flute\n    cycles: 2\n"
        "  - play: long\n  - play: led\n"
    )
    band = piece_of(form, more)
    jump, flute = jump_of(band), band.piece.players[0]
    sheet = part_sheet(band, flute)
    assert jump is not None and any(m.ending for m in sheet.strains[0].measures)
    assert by_map(band, flute, sheet) == by_rules(band, flute)
    told = places_of(band, flute)
    # The bar before the jump's second line is the second ending, both times.
    assert told[jump.from_bar + 3] == told[jump.sign + 7] != told[jump.sign + 3]


def test_hostile_names_stay_text() -> None:
    band = piece_of("  - play: '</script><b>&'\n", "  '</script><b>&':\n    sargam: S R G\n")
    flute = band.piece.players[0]
    part = part_data(band, flute)
    assert part is not None
    assert part["heads"][0][2] == "</script><b>&"
    for system in part["systems"]:
        etree.fromstring(system)


SHORT = "  - play: one\n    times: 2\n  - solo: flute\n    cycles: 2\n  - play: two\n"
"""A form with something to read for everybody."""


def test_what_was_drawn_is_kept_in_a_folder(tmp_path: Path) -> None:
    piece = piece_of(SHORT, players=SEVEN).piece
    kept = FolderCache(tmp_path / "kept", ".systems")
    first = packed_parts(piece, 2, None, kept)
    files = list(kept.keys())
    assert files and packed_parts(piece, 2, None, pickle.loads(pickle.dumps(kept))) == first
    assert list(kept.keys()) == files
    # What is no longer whole is drawn again, and what has changed beside it.
    kept.path(files[0]).write_bytes(kept.path(files[0]).read_bytes()[:-9])
    assert kept.get(files[0]) is None and packed_parts(piece, 2, None, kept) == first
    assert kept.get(files[0]) is not None
    kept.path(files[0]).unlink()
    packed_parts(replace(piece, title="Another"), 2, None, kept)
    assert list(kept.keys()) == files


def test_parts_are_packed_on_any_sa() -> None:
    piece = piece_of(SHORT, players=SEVEN).piece
    drawn = MemoryCache(1000)
    here = packed_parts(piece, 0, None, drawn)
    count = len(drawn.entries)
    assert count and packed_parts(piece, 0, None, drawn) == here
    assert len(drawn.entries) == count
    assert packed_parts(piece) == here
    up = packed_parts(piece, 3)
    assert (
        list(up)
        == list(here)
        == ["flute", "alto-sax", "guitar", "double-bass", "tabla", "drum-kit"]
    )
    opened = {
        who: json.loads(zlib.decompress(base64.b64decode(part), -15)) for who, part in up.items()
    }
    before = json.loads(zlib.decompress(base64.b64decode(here["flute"]), -15))
    assert opened["flute"]["sa"] == "F" and before["sa"] == "D"
    assert opened["alto-sax"]["sa"] == "D"
    assert opened["flute"]["notes"] == before["notes"]
    there = Band(transposed(piece, TONICS[5]))
    assert opened["flute"] == json.loads(json.dumps(part_data(there, there.piece.players[0])))
    assert pickle.loads(pickle.dumps((packed_parts, piece, 3)))[1] == piece
