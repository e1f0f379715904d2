"""A change of cycle in the files: read back by mido, pretty_midi and music21, and on the page.

The readers know nothing of our writers; the schema is MusicXML 4.0's own.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import mido
import music21
import pretty_midi
import pytest
from PIL import Image
from support.making import CHANGING_SEEDS, piece_of, random_changing_piece
from support.midi_files import midi_bytes
from support.reading_musicxml import parsed, texts
from write.midi.test_midi_file import expected, read_with_mido
from write.musicxml.test_document import check_file, check_reading
from write.paper.test_charts import SIDE, darkest

from cyclechart.arrange.arranger import arrange
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.arrange.unroller import unroll
from cyclechart.write.midi.file import time_signature
from cyclechart.write.musicxml.document import score_xml, strain_xml
from cyclechart.write.paper.chart_music import chart_music
from cyclechart.write.paper.charts import set_pages

TEXT = (
    "cycle: tintal\nlines:\n  open: {lands: free, sargam: S - R G}\n"
    '  head: {begins: 13, sargam: "G m P d || S"}\n  loop: {sargam: S R G m P d n}\n'
    "  hit: {sargam: S}\nform:\n  - play: head\n  - {play: loop, cycle: rupak}\n  - play: hit\n"
    "  - free: open\n  - {play: hit, cycle: {beats: 11 1/2, sections: [4, 4, 3 1/2]}}\n"
    "  - {play: hit, cycle: rupak}\n"
)


@pytest.mark.parametrize("seed", CHANGING_SEEDS[::2])
def test_any_piece_with_changes_is_valid(seed: int) -> None:
    check_file(sheet_of(piece_of(random_changing_piece(seed))))


@pytest.mark.parametrize("seed", range(100, 104))
def test_music21_finds_the_same_notes(seed: int) -> None:
    check_reading(sheet_of(piece_of(random_changing_piece(seed))))


def test_a_time_signature_stands_where_the_cycle_changes() -> None:
    sheet = sheet_of(piece_of(TEXT))
    root = parsed(score_xml(sheet))
    shown = []
    for measure in root.iterfind("part/measure"):
        letter = measure.findtext(".//rehearsal")
        if letter is not None:
            beats = "+".join(texts(measure, "attributes/time/beats"))
            free = measure.find("attributes/time/senza-misura") is not None
            shown.append((letter, measure.findtext(".//words"), "free" if free else beats))
    assert shown == [
        ("A", "head, in Tintal", "16"),
        ("B", "loop, in Rupak", "3+2+2"),
        ("C", "hit, in Rupak", ""),
        ("D", "open", "free"),
        ("E", "hit, in a cycle of 11 1/2", "4+4+7"),
    ]
    alone = [
        parsed(strain_xml(sheet, strain, first=strain.first)).findtext(".//time/beats")
        for strain in sheet.strains
    ]
    assert alone == ["16", "3+2+2", None, None, "4+4"]


def test_a_silent_cycle_of_one_section_is_one_rest_in_the_cycle_of_its_strain() -> None:
    text = (
        "cycle: tintal\nlines:\n  hit: {sargam: S}\n  beat: {strokes: dha dhin dha na na}\n"
        "form:\n  - play: hit\n  - {play: beat, cycle: {name: Five, beats: 5}}\n"
    )
    melody, drums = parsed(score_xml(sheet_of(piece_of(text)))).findall("part")
    assert [bool(m.findall(".//rest[@measure='yes']")) for m in melody] == [False, True]
    assert not drums.findall(".//rest[@measure='yes']")


def test_music21_reads_the_time_signatures_back() -> None:
    score = music21.converter.parseData(score_xml(sheet_of(piece_of(TEXT))).decode())
    (part,) = score.parts
    read = [
        (Fraction(meter.getOffsetInHierarchy(part)), Fraction(meter.barDuration.quarterLength))
        for meter in part.recurse().getElementsByClass(music21.meter.TimeSignature)
    ]
    # head: four beats of pickup and the first section; loop: 7; hit: 3; open: 4; hit: 4.
    assert read == [(0, 16), (8, 7), (22, Fraction(23, 2))]


@pytest.mark.parametrize("seed", CHANGING_SEEDS)
def test_mido_reads_every_onset_on_its_beat_and_every_meter_at_its_change(seed: int) -> None:
    piece = piece_of(random_changing_piece(seed))
    score = arrange(piece)
    data = midi_bytes(score)
    file = mido.MidiFile(file=io.BytesIO(data), charset="utf-8")
    ticks = file.ticks_per_beat
    for name, onsets in read_with_mido(data).items():
        wanted = expected(score, name)
        assert len(onsets) == len(wanted)
        for (at, _), (beat, _) in zip(sorted(onsets), wanted, strict=True):
            assert abs(at - beat) <= Fraction(1, 2 * ticks)
    now, read = 0, []
    for message in file.tracks[0]:
        now += message.time
        if message.type == "time_signature":
            read.append((now, Fraction(4 * message.numerator, message.denominator)))
    # From the timeline: a bar is the cycle of its stretch, or the whole of a free one.
    bars = {}
    for stretch in unroll(piece).stretches:
        length = stretch.end - stretch.start
        for start in (stretch.start, stretch.end - stretch.cycle.beats):
            if length and stretch.start <= start:
                bars[start] = length if stretch.kind == "free" else stretch.cycle.beats
    for start, bar in bars.items():
        in_force = [beats for at, beats in read if at <= round(start * ticks)]
        if time_signature(bar) is not None:
            assert in_force[-1] == bar
    for (at, earlier), (later, _) in pairwise(read):
        # Every signature begins where a bar of the one before ends (to the tick).
        off = Fraction(later - at, ticks) % earlier
        assert min(off, earlier - off) <= Fraction(1, ticks)


def test_pretty_midi_reads_the_meters_in_seconds() -> None:
    data = midi_bytes(arrange(piece_of(f"tempo: 60\n{TEXT}")))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        read = pretty_midi.PrettyMIDI(io.BytesIO(data))
    # Counted in in tintal; head is its pickup alone; loop and hit in rupak, the free line, then
    # a cycle of 11 1/2, and one hit of one beat to end in rupak.
    found = [(m.time, m.numerator, m.denominator) for m in read.time_signature_changes]
    assert found == [
        (0.0, 16, 4), (16.0, 7, 4), (30.0, 4, 4), (34.0, 23, 8), (45.5, 7, 4),
    ]  # fmt: skip
    assert read.get_end_time() == 46.5


def pages(sheet: Sheet) -> list[Image.Image]:
    drawn = set_pages(sheet, chart_music(sheet), "png")
    return [Image.open(io.BytesIO(page)).convert("L") for page in drawn]


@pytest.mark.parametrize(
    "cycles",
    [
        ["tintal", "rupak"],
        ["rupak", "dadra", "keherwa", "jhaptal"],
        ["{beats: 60}", "rupak", "{beats: 96, sections: [48, 48]}", "tintal"],
        [f"{{name: {'Delta' * 30}, beats: {n}}}" for n in range(5, 9)],
        [f"{{beats: {n}}}" for n in range(2, 33)],
    ],
    ids=["two", "four", "long ones", "long names", "31"],
)
def test_the_tables_and_the_road_stay_within_the_margins(cycles: list[str]) -> None:
    form = "".join(f"  - play: hit\n    cycle: {cycle}\n" for cycle in cycles)
    sheet = sheet_of(piece_of(f"lines:\n  hit: {{sargam: S}}\nform:\n{form}"))
    assert len(sheet.cycles) == len(sheet.strains) == len(cycles)
    for page in pages(sheet):
        assert darkest(page, 0, 0, SIDE, 297) == 255
        assert darkest(page, 210 - SIDE, 0, 210, 297) == 255


def test_each_cycle_in_use_has_a_table_on_the_page_in_the_order_of_use() -> None:
    changes = ("tintal", "rupak", "jhaptal", "ektal")
    form = "".join(f"  - {{play: hit, cycle: {cycle}}}\n" for cycle in changes)
    sheet = sheet_of(piece_of(f"lines:\n  hit: {{sargam: S}}\nform:\n{form}"))
    assert [cycle.name.lower() for cycle in sheet.cycles] == list(changes)
    whole = pages(sheet)[0].tobytes()
    for number in range(len(changes)):
        left = sheet.cycles[:number] + sheet.cycles[number + 1 :]
        assert pages(replace(sheet, cycles=left))[0].tobytes() != whole
    assert pages(replace(sheet, cycles=sheet.cycles[::-1]))[0].tobytes() != whole
