"""Chord symbols in MusicXML: valid by the schema, read back with music21 as the same pitches."""

from __future__ import annotations

from fractions import Fraction

import pytest
from lxml import etree
from music21 import converter, harmony
from support.chord_lines import chord_piece, player_of
from support.making import piece_of
from support.reading_musicxml import measure_beats, parsed, texts

from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.piece.model import Piece
from cyclechart.theory.chord_qualities import COMMON, degrees_of
from cyclechart.theory.chord_symbols import ChordSymbol
from cyclechart.theory.spelling import TONICS, Tonic
from cyclechart.write.musicxml.chord_symbols import KINDS, add_chord_symbol, kind_of
from cyclechart.write.musicxml.document import score_xml, strain_xml

QUALITIES = (
    *COMMON, "9b5", "9#11", "maj9#11", "13#11", "13#9", "7b9b13", "7#5#9", "m7b9", "m9b5", "m11b5",
    "aug7", "7b9sus4", "add11", "madd11", "7no3", "no3", "dimmaj7", "m(maj9)", "addb9", "5add9",
)  # fmt: skip


def written(symbol: ChordSymbol, tonic: Tonic) -> bytes:
    """A score of one measure with a chord symbol, valid by the schema."""
    root = etree.fromstring(
        b'<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part>'
        b'</part-list><part id="P1"><measure number="1"><attributes><divisions>1</divisions>'
        b"</attributes></measure></part></score-partwise>"
    )
    measure = root.find("part/measure")
    assert measure is not None
    add_chord_symbol(measure, symbol, tonic)
    note = etree.SubElement(measure, "note")
    etree.SubElement(note, "rest")
    etree.SubElement(note, "duration").text = "4"
    data = etree.tostring(root)
    parsed(data)
    return data


def read_by_music21(data: bytes) -> tuple[frozenset[int], int]:
    score = converter.parse(data.decode(), format="musicxml")
    chord = next(iter(score.recurse().getElementsByClass(harmony.ChordSymbol)))
    assert chord.bass() is not None
    return frozenset(pitch.pitchClass for pitch in chord.pitches), int(chord.bass().pitchClass)


@pytest.mark.parametrize("quality", QUALITIES)
def test_music21_reads_the_same_pitches(quality: str) -> None:
    degrees = degrees_of(quality)
    assert degrees is not None
    tones = tuple(tone for _, tone in degrees)
    for number, tonic in enumerate(TONICS[::4]):
        root = (number * 5 + len(quality)) % 12
        bass = None if number != 1 else (root + 7) % 12
        symbol = ChordSymbol(root, tones, quality, bass)
        data = written(symbol, tonic)
        wanted = frozenset((tonic.semitone + tone) % 12 for tone in symbol.pitch_classes)
        lowest = (tonic.semitone + symbol.lowest) % 12
        assert read_by_music21(data) == (wanted, lowest), (quality, root, tonic)


@pytest.mark.parametrize("quality", QUALITIES)
def test_kind_and_degrees_add_up_to_the_tones(quality: str) -> None:
    """By the definitions of MusicXML 4.0 (degree-alter): what is added counts from the degree of a
    dominant chord, what is altered from that of the kind."""
    degrees = degrees_of(quality)
    assert degrees is not None
    kind, changes = kind_of(degrees)
    usual = {2: 2, 3: 4, 4: 5, 5: 7, 6: 9, 7: 10, 9: 14, 11: 17, 13: 21}
    tones = list(KINDS[kind])
    for change in changes:
        if change.type == "add":
            tones.append((change.value, usual[change.value] + change.alter))
            continue
        old = next(tone for tone in tones if tone[0] == change.value)
        tones.remove(old)
        if change.type == "alter":
            tones.append((change.value, old[1] + change.alter))
    assert sorted(tones) == sorted(degrees)


def test_plain_symbols_have_the_kind_of_their_name_and_no_degrees() -> None:
    """(MusicXML 4.0, kind-value.)"""
    names = {
        "": "major", "m": "minor", "7": "dominant", "maj7": "major-seventh", "m7": "minor-seventh",
        "m7b5": "half-diminished", "dim7": "diminished-seventh", "m(maj7)": "major-minor",
        "6": "major-sixth", "m6": "minor-sixth", "9": "dominant-ninth", "13": "dominant-13th",
        "sus4": "suspended-fourth", "5": "power", "aug": "augmented", "7#5": "augmented-seventh",
    }  # fmt: skip
    assert {quality: kind_of(degrees_of(quality) or ()) for quality in names} == {
        quality: (kind, ()) for quality, kind in names.items()
    }


def both(form: str = "[{play: comp}]", **heading: str) -> Piece:
    return chord_piece("Dm7 -G7 - - | Bbmaj7/D - z A7b9", form=form, **heading)


@pytest.mark.parametrize("rhythm", ["own", "written"])
def test_each_symbol_stands_at_its_beat(rhythm: str) -> None:
    piece = chord_piece("Dm7 -G7 - - | Bbmaj7/D - z A7b9", f", rhythm: {rhythm}")
    sheet = sheet_of(piece)
    root = parsed(score_xml(sheet))
    divisions = int(str(root.findtext(".//divisions")))
    found = []
    at = Fraction(0)
    for measure in root.iterfind("part/measure"):
        assert measure_beats(measure, divisions) == 4
        for element in measure:
            if element.tag == "harmony" and element.findtext("kind") != "power":
                kind = element.find("kind")
                assert kind is not None
                found.append((at, element.findtext("root/root-step"), kind.get("text")))
            elif element.tag == "note" and element.find("chord") is None:
                at += Fraction(int(str(element.findtext("duration"))), divisions)
    assert found == [
        (0, "D", "m7"), (Fraction(3, 2), "G", "7"), (4, "B", "maj7"), (7, "A", "7♭9"),
    ]  # fmt: skip
    assert set(texts(root, "part/measure/note/notehead")) == {"slash"}
    stems = texts(root, "part/measure/note/stem")
    assert ("none" in stems) == (rhythm == "own")


def test_music21_reads_a_lead_sheet_with_chords_over_its_melody() -> None:
    piece = piece_of(
        "cycle: keherwa\nmode: bilawal\nplayers: {flute: , guitar: {plays: voicings}}\nlines:\n"
        '  head: {sargam: "S - - - | P - - -"}\n'
        '  comp: {chords: "Dm7 -G7 - - | Bb/D - - A7"}\n'
        "form: [{play: comp}]\n"
    )
    sheet = sheet_of(piece)
    strain = sheet.strains[0]
    assert strain.name == "comp"
    root = parsed(strain_xml(sheet, strain, first=True))
    assert len(root.findall(".//harmony")) == 4
    score = converter.parse(score_xml(sheet).decode(), format="musicxml")
    symbols = [
        chord
        for chord in score.recurse().getElementsByClass(harmony.ChordSymbol)
        if chord.chordKind != "power"
    ]
    assert [str(chord.root().name) for chord in symbols] == ["D", "G", "B-", "A"]


def test_a_transposing_reader_has_their_own_letters() -> None:
    symbol = both().lines["comp"].notes[0].chord
    assert symbol is not None
    letters = {
        str(tonic): symbol.in_letters(tonic) for tonic in (Tonic("D"), Tonic("E"), Tonic("B"))
    }
    assert letters == {"D": "Dm7", "E": "Em7", "B": "Bm7"}
    assert player_of(both(), "guitar").instrument.transposes == -12
