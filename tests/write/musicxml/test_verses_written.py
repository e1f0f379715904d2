"""Verses in MusicXML: numbered lyrics under one another, as music21 reads them too."""

from __future__ import annotations

from collections.abc import Sequence

import music21
from support.making import piece_of
from support.reading_musicxml import parsed

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.parts.score_sheets import score_sheets
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.write.musicxml.document import band_xml, part_xml, score_xml

TEXT = """
mode: kafi
cycle: keherwa
players:
  voice: {plays: melody, octave: -1}
  trumpet: {plays: melody}
lines:
  head:
    sargam: S R g m | P - m g || R S R g | R - S -
    words:
      - One lit-tle lamp _ went down to the tide and out
      - Two lit-tle lamps came back with the moon _ _ home
  tail: {sargam: P m g R | S - - -, words: Good night to you all}
form:
  - {play: head, times: 2}
  - play: tail
  - play: head
"""
SPACE = "\N{NO-BREAK SPACE}"


def lyrics(document: bytes, number: str) -> list[str]:
    found = parsed(document).findall(f".//lyric[@number='{number}']/text")
    return [text.text or "" for text in found]


def test_a_singer_reads_each_verse_under_the_one_before() -> None:
    band = Band(piece_of(TEXT))
    voice = part_xml(part_sheet(band, band.piece.players[0]))
    first, second = lyrics(voice, "2"), lyrics(voice, "3")
    assert first[:3] == [f"1.{SPACE}One", "lit", "tle"]
    assert second[:4] == [f"2.{SPACE}Two", "lit", "tle", "lamps"]
    # The tail has one text, and no number.
    assert "Good" in first
    assert "Good" not in second


def test_both_times_of_a_step_are_written_once_with_both_verses() -> None:
    band = Band(piece_of(TEXT))
    strain = part_sheet(band, band.piece.players[0]).strains[0]
    assert len(strain.notes) == 13
    assert {len(note.verses) for note in strain.notes} == {1}


def test_the_lead_sheet_and_the_score_have_them_the_score_for_singers_alone() -> None:
    piece = piece_of(TEXT)
    band = Band(piece)
    lead = sheet_of(piece, band.road)
    assert f"2.{SPACE}Two" in lyrics(score_xml(lead), "3")
    document = parsed(band_xml(score_sheets(band)))
    sung = [
        [text.text for text in part.findall(".//lyric[@number='3']/text")]
        for part in document.findall("part")
    ]
    assert [bool(texts) for texts in sung] == [False, True]  # the trumpet stands above the voice


def test_music21_reads_both_verses() -> None:
    band = Band(piece_of(TEXT))
    xml = part_xml(part_sheet(band, band.piece.players[0])).decode()
    stream = music21.converter.parse(xml, format="musicxml")
    notes = [note for note in stream.recurse().notes if note.lyrics]
    assert [lyric.number for lyric in notes[0].lyrics] == [1, 2, 3]
    assert [lyric.text for lyric in notes[0].lyrics][1:] == [f"1.{SPACE}One", f"2.{SPACE}Two"]
    assert [lyric.syllabic for lyric in notes[1].lyrics][1:] == ["begin", "begin"]


def test_a_number_stands_where_a_verse_begins_and_not_where_it_goes_on() -> None:
    # The pickup of the later times stands at the end of the repeated cycle, so that the last time
    # goes on without it.
    text = TEXT.replace("sargam: |\n      S R g m | P - m g || R S R g | R - S -", (
        "begins: 7\n    sargam: S R || g m P - | m g R S || R g R -"
    )).replace("times: 2", "times: 3")  # fmt: skip
    band = Band(piece_of(text))
    root = parsed(part_xml(part_sheet(band, band.piece.players[0])))
    first = [one.text or "" for one in root.findall(".//lyric[@number='2']/text")]
    assert "One" not in first
    assert {one for one in first if one.startswith("1.")} == {f"1.{SPACE}One"}
    assert first.count(f"1.{SPACE}One") >= 2


WRITTEN_OUT = """
mode: kafi
cycle: keherwa
players:
  voice: {plays: melody, octave: -1}
  trumpet: {plays: melody}
lines:
  head:
    sargam: S - R g | m P m - || m g R S | z z z z
    words: [one lit-tle lamp went out on wa-ter, two lit-tle lamps came in on wa-ter]
  answer: {begins: 7, sargam: m P || S' - - -| - - - z}
form:
  - {play: head, by: [voice], times: 2}
  - {play: {trumpet: answer, voice: head}, times: 3}
"""


def voice_of(sheets: Sequence[Sheet]) -> Sheet:
    return next(one for one in sheets if one.reader is not None and one.reader.short == "Voice")


def test_a_time_that_is_written_out_has_its_own_verse_alone() -> None:
    # In the score the trumpet's pickup makes the second time unlike the first.
    band = Band(piece_of(WRITTEN_OUT))
    voice = voice_of(score_sheets(band))
    first, second = voice.strains[:2]
    sung = [
        [note.word for note in strain.notes if note.word and not note.verses]
        for strain in (first, second)
    ]
    two = f"2.{SPACE}two"
    assert [word for word in sung[0] if word in (f"1.{SPACE}one", two)] == [f"1.{SPACE}one", two]
    assert sung[0].index(two) == 9
    assert "lamps" not in sung[0][:9]
    assert "lamp" not in sung[0][9:]


def test_under_endings_each_verse_keeps_its_row() -> None:
    text = """
mode: kafi
cycle: keherwa
players: {voice: {plays: melody, octave: -1}}
lines:
  head:
    begins: 7
    sargam: S R || g - m P | m g R - || g m P m | g R S - || P - - - | m - g R || S - - - | z z z z
    words:
      - 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 * * * 17
      - a b c d e f g h i j k l m n o p * * * q
form: [groove: 1, {play: head, times: 2}]
"""
    band = Band(piece_of(text))
    before, strain = part_sheet(band, band.piece.players[0]).strains
    assert [note.word for note in before.notes] == [f"1.{SPACE}1", "2"]
    assert {measure.ending for measure in strain.measures} >= {(1,), (2,)}
    rows = [(note.word, *note.verses) for note in strain.notes if note.word or any(note.verses)]
    assert rows[0] == ("3", "c")
    assert rows[-4:] == [("17", ""), ("", "a"), ("", "b"), ("", "q")]


def test_no_word_goes_on_into_the_next_round_of_a_line() -> None:
    text = """
mode: kafi
cycle: keherwa
players: {voice: {plays: melody, octave: -1}, trumpet: {plays: melody}}
lines:
  long: {sargam: S - R g | m P m - || m g R S | z z z z}
  short: {sargam: S R g m | P m g R, words: wa-ter un-der ev-e-ry bri-}
form: [play: {trumpet: long, voice: short}]
"""
    band = Band(piece_of(text))
    voice = voice_of(score_sheets(band))
    found = parsed(part_xml(voice)).findall(".//lyric[@number='2']")
    assert [(one.findtext("text"), one.findtext("syllabic")) for one in found][7:9] == [
        ("bri", "single"),
        ("wa", "begin"),
    ]
