"""The MusicXML file: valid, exact, spelled as a reader expects, and read alike by others."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import music21
import pytest
from lxml import etree
from support.making import DEMO_BOOK, FEW_PIECE_SEEDS, piece_of, random_piece
from support.reading_musicxml import (
    Element,
    check_measure,
    check_ties,
    measure_beats,
    parsed,
    texts,
)

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.arrange.sheet.model import Sheet, StaffKey
from cyclechart.piece.load import load
from cyclechart.piece.note import Note
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.spelling import Tonic
from cyclechart.write.musicxml.document import score_xml, strain_xml
from cyclechart.write.musicxml.staff import Accidentals, drone_symbol, meter_of, plain_number


def read(path: Path) -> Sheet:
    """The lead sheet of a piece of the demo book."""
    piece = load(path).piece
    assert piece is not None
    return sheet_of(piece)


def sheet(text: str, **heading: str) -> Sheet:
    """The lead sheet of a piece that is given as text."""
    return sheet_of(piece_of(text, **heading))


def line(sargam: str, **heading: str) -> Sheet:
    """The lead sheet of one line."""
    return sheet(f"lines:\n  head:\n    sargam: |\n      {sargam}\n", **heading)


def alone(sheet: Sheet, number: int = 0, *, first: bool = True) -> Element:
    """One strain as a tree."""
    return parsed(strain_xml(sheet, sheet.strains[number], first=first))


def expected(sheet: Sheet, kind: str) -> list[tuple[Fraction, Fraction, int]]:
    """(onset, duration, MIDI key or 0) of every note, the strains one after another."""
    found = []
    base = Fraction(0)
    for strain in sheet.strains:
        begin = strain.measures[0].start
        if strain.kind == kind:
            for note in strain.notes:
                key = 0 if note.pitch is None else sheet.tonic.midi + note.pitch
                found.append((base + note.start - begin, note.length, key))
        base += strain.measures[-1].end - begin
    return found


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_the_demo_book_is_valid(path: Path) -> None:
    check_file(read(path))


@pytest.mark.parametrize("seed", FEW_PIECE_SEEDS)
def test_any_piece_is_valid(seed: int) -> None:
    check_file(sheet(random_piece(seed)))


def check_file(sheet: Sheet) -> None:
    """Check the properties of any sheet's files."""
    data = score_xml(sheet)
    assert data == score_xml(sheet)
    root = parsed(data)
    names = [str(element.get("id")) for element in root.iter("note") if element.get("id")]
    assert len(names) == len(set(names))
    divisions = int(str(root.findtext(".//divisions")))
    lengths = [measure.length for strain in sheet.strains for measure in strain.measures]
    for part in root.iterfind("part"):
        measures = part.findall("measure")
        numbers = [measure.get("number") for measure in measures]
        assert len(numbers) == len(set(numbers))
        assert [measure_beats(measure, divisions) for measure in measures] == lengths
        for measure in measures:
            check_measure(measure)
        check_ties(part)
    for number, strain in enumerate(sheet.strains):
        middle = len(strain.measures) // 2
        data = strain_xml(sheet, strain, first=number == 0, breaks={middle})
        root = parsed(data)
        divisions = int(str(root.findtext(".//divisions")))
        measures = root.findall("part/measure")
        assert [measure_beats(measure, divisions) for measure in measures] == [
            measure.length for measure in strain.measures
        ]
        broken = [at for at, measure in enumerate(measures) if measure.find("print") is not None]
        assert broken == [middle]
        struck = [note for note in root.iter("note") if note.find("lyric[@number='1']") is not None]
        assert len(struck) == sum(bool(named(note)) for note in strain.notes)


def named(note: Note) -> bool:
    """Return whether a name stands under a note: under drums of a kit and slashes there is none."""
    return not isinstance(note, PartNote) or note.under != ()


# Checked with music21, which reads MusicXML by itself and knows nothing of our writer.


@pytest.mark.parametrize("path", DEMO_BOOK, ids=lambda path: path.stem)
def test_another_reader_finds_the_notes_of_the_demo_book(path: Path) -> None:
    check_reading(read(path))


@pytest.mark.parametrize("seed", range(100, 112))
def test_another_reader_finds_the_same_notes(seed: int) -> None:
    check_reading(sheet(random_piece(seed)))


def check_reading(sheet: Sheet) -> None:
    """Onsets, durations and pitches as music21 reads them, against the sheet's own."""
    score = music21.converter.parseData(score_xml(sheet).decode(), format="musicxml")
    assert score.metadata.title == sheet.title
    names = {"Melody": "melody", "Hand drums": "strokes", "Drum kit": "kit"}
    assert {part.partName for part in score.parts} == {
        name for name, kind in names.items() if any(s.kind == kind for s in sheet.strains)
    }
    for part in score.parts:
        read: list[tuple[Fraction, Fraction, int]] = []
        for note in part.flatten().notes:
            if isinstance(note, music21.harmony.Harmony) or note.duration.isGrace:
                continue
            slash = note.notehead == "slash"
            key = note.pitch.midi if isinstance(note, music21.note.Note) and not slash else 0
            onset, length = Fraction(note.offset), Fraction(note.quarterLength)
            if note.tie is not None and note.tie.type != "start":
                assert read[-1][2] == key
                read[-1] = (read[-1][0], read[-1][1] + length, key)
            else:
                read.append((onset, length, key))
        wanted = expected(sheet, names[part.partName])
        if part.partName == "Drum kit":  # its two layers are read one after the other
            assert {onset for onset, _, _ in read} == {at for at, _, _ in wanted}
            continue
        assert [key for _, _, key in read] == [key for _, _, key in wanted]
        for (onset, length, _), (at, time, _) in zip(read, wanted, strict=True):
            # It keeps fractions up to a denominator of 65535, and floats beside them.
            assert abs(onset - at) < Fraction(1, 10_000)
            assert abs(length - time) < Fraction(1, 10_000)


def test_another_reader_finds_the_heading() -> None:
    piece = line("S R G m P", title="A & <B>", composer="N. N.", tempo="133 1/3")
    score = music21.converter.parseData(score_xml(piece).decode(), format="musicxml")
    assert score.metadata.title == "A & <B>"
    assert score.metadata.composer == "N. N."
    marks = list(score.recurse().getElementsByClass(music21.tempo.MetronomeMark))
    assert [round(mark.number, 3) for mark in marks] == [133.333]
    assert [mark.content for mark in score.recurse().getElementsByClass("RehearsalMark")] == ["A"]


def test_what_xml_cannot_hold_is_left_out() -> None:
    piece = replace(line("S R G"), title="A\x00\x0b\ud800B & \U0001d11e", composer="\ufffeC")
    root = parsed(score_xml(piece))
    assert root.findtext("work/work-title") == "AB & \U0001d11e"
    assert root.findtext("identification/creator") == "C"


def accidentals(root: Element) -> str:
    """The notes as letters and octaves, with the accidentals printed, | for a line."""
    signs = {"sharp": "#", "flat": "b", "natural": "n"}
    words = []
    for measure in root.iterfind("part/measure"):
        for note in measure.iterfind("note"):
            if note.find("pitch") is None:
                continue
            word = f"{note.findtext('pitch/step')}{note.findtext('pitch/octave')}"
            sign = note.find("accidental")
            if sign is not None:
                mark = signs[str(sign.text)]
                word += f"({mark})" if sign.get("parentheses") else mark
            words.append(word)
        words.append("|")
    return " ".join(words[:-1])


@pytest.mark.parametrize(
    ("sargam", "wanted"),
    [
        # Tonic C, a cycle of 2 + 3, no key signature: komal tones are flats, tivra is a sharp.
        ("gg g | G G G", "E4b E4 E4 | E4(n) E4 E4"),
        ("gG g | S", "E4b E4n E4b | C4"),
        ("g G' | S", "E4b E5(n) | C4"),
        ("G g' | G G' G", "E4 E5b | E4(n) E5(n) E4"),
        ("M - | - M m", "F4# | F4 F4# F4n"),
        ("S M | - m S", "C4 F4# | F4 F4(n) C4"),
        ("g R | S R G || G", "E4b D4 | C4 D4 E4(n) | E4"),
        ("g R | S R S || G", "E4b D4 | C4 D4 C4 | E4"),
        ("{g}R G | S", "E4b D4 E4n | C4"),
    ],
)
def test_accidentals(sargam: str, wanted: str) -> None:
    cycle = "{beats: 5, sections: [2, 3]}"
    root = alone(line(sargam, tonic="C", mode="bilawal-thaat", cycle=cycle))
    assert root.findtext(".//fifths") == "0"
    assert accidentals(root) == wanted


def test_accidentals_of_a_key_signature() -> None:
    shown = Accidentals(StaffKey(Tonic("C"), line("S R").mode, -3))
    shown.next_measure()
    assert shown.printed("E", 4, -1) is None
    assert shown.printed("E", 4, 0) == (0, False)
    assert shown.printed("E", 5, -1) == (-1, True)
    shown.next_measure()
    assert shown.printed("E", 4, -1) == (-1, True)
    assert shown.printed("E", 4, -1) is None
    shown.next_measure()
    assert shown.printed("E", 4, -1) is None


def test_the_alteration_is_always_written() -> None:
    root = alone(line("S R G M", tonic="E", mode="yaman", cycle="keherwa"))
    assert accidentals(root) == "E4 F4 G4 A4"
    assert texts(root, ".//pitch/alter") == ["1", "1", "1"]


def test_sections_lines_and_numbers() -> None:
    text = """lines:
  head:
    begins: 4
    sargam: |
      G mP || S - | R G m | P d | P m G || S - | - - - | - - | - - -
  answer:
    begins: 8
    sargam: S R G || S - - - - - - - - -
"""
    piece = sheet(text)
    root = parsed(score_xml(piece))
    measures = root.findall("part/measure")
    numbers = ["0", "0b", "0c", "1", "1b", "1c", "1d", "2", "2b", "2c", "2d"]
    assert [m.get("number") for m in measures[:3]] == numbers[:3]
    assert [m.get("number") for m in measures][-5:] == ["X2", "3", "3b", "3c", "3d"]
    shown = [str(m.get("number")) for m in measures if m.get("implicit") != "yes"]
    assert shown == ["1", "2", "3"]
    lines = [m.findtext("barline/bar-style") or "plain" for m in measures]
    assert lines[:7] == ["dashed", "dashed", "plain", "dashed", "dashed", "dashed", "plain"]
    assert lines[-6:] == ["light-light", "plain", "dashed", "dashed", "dashed", "light-heavy"]
    assert texts(root, ".//time/beats") == ["2+3+2+3"]
    ends = [tree.findall("part/measure")[-1].findtext("barline/bar-style")
            for tree in (alone(piece, 0), alone(piece, 1))]  # fmt: skip
    assert ends == ["light-light", "light-heavy"]


def test_claps_and_waves_stand_in_one_row() -> None:
    root = alone(line("S R | G m P | d n | P m G || S", cycle="jhaptal"))
    words = root.findall("part/measure/direction/direction-type/words")
    assert [word.text for word in words][:5] == ["×", "2", "0", "3", "×"]
    assert [word.get("enclosure") for word in words][:2] == ["circle", None]
    assert len({word.get("default-y") for word in words}) == 1


def test_a_measure_that_begins_inside_a_section_has_no_sign() -> None:
    root = alone(sheet("lines:\n  head:\n    begins: 9\n    sargam: G m || S\n"))
    signs = [bool(m.findall("direction//words")) for m in root.findall("part/measure")]
    assert signs == [False, True, True, True, True][: len(signs)]


def test_time_signatures() -> None:
    def meter(*sections: str) -> tuple[tuple[str, str], ...]:
        sizes = tuple(map(Fraction, sections))
        return meter_of(Cycle(name="", beats=sum(sizes, Fraction(0)), sections=sizes, stressed=()))

    # Equal sections are one meter, as a reader counts 12/4 in twos by its dashed lines (E. Gould,
    # Behind Bars, Metre: a compound signature is for unlike groups; from memory).
    assert meter("4", "4", "4", "4") == (("16", "4"),)
    assert meter("2", "2", "2", "2", "2", "2") == (("12", "4"),)
    assert meter("3/2", "3/2") == (("6", "8"),)
    assert meter("7") == (("7", "4"),)
    assert meter("3", "2", "2") == (("3+2+2", "4"),)
    assert meter("4", "4", "2", "2") == (("4+4+2+2", "4"),)
    assert meter("4", "4", "7/2") == (("4+4", "4"), ("7", "8"))
    assert meter("3/2", "3/2", "2", "1/4", "5/8") == (
        ("3+3", "8"),
        ("2", "4"),
        ("1", "16"),
        ("5", "32"),
    )
    piece = line("S R G m | P d n S' | n d P m/2")
    shown = alone(piece).find(".//time")
    assert shown is not None and shown.get("print-object") is None
    assert alone(piece, first=False).find(".//time") is None


def test_a_free_line_has_no_meter_and_no_barlines() -> None:
    text = "lines:\n  open: {lands: free, sargam: S - - R G m P d P m G R S - R G m P d n}\n"
    text += "  head: {sargam: S R G m P d n d P m}\n"
    root = parsed(score_xml(sheet(text)))
    first, second, *_ = root.findall("part/measure")
    assert first.find("attributes/time/senza-misura") is not None
    assert first.findtext("barline/bar-style") == "none"
    assert second.find("attributes") is None
    assert texts(root, ".//time/beats") == ["2+3+2+3"]
    assert not first.findall("direction//words[@default-y]")


def test_drone_symbols() -> None:
    assert drone_symbol(Tonic("B", -1), 7)[:4] == ("B", -1, "power", "5")
    # A suspended fourth has a fifth in it, which the mode may forbid.
    assert drone_symbol(Tonic("B"), 5)[2:] == ("other", "B · E drone", True)
    assert drone_symbol(Tonic("D"), 11)[3] == "D · C♯ drone"
    assert drone_symbol(Tonic("D"), 0)[3] == "D drone"
    marwa = line("S r G", tonic="Db", mode="marwa")
    published, engraved = parsed(score_xml(marwa)), alone(marwa)
    assert texts(published, ".//root-alter") == ["-1"]
    kind = published.find(".//kind")
    assert kind is not None and kind.get("text") == "D♭ · C drone"
    assert engraved.find(".//harmony") is None  # a page names the drone in its headings


def test_words_under_the_notes() -> None:
    text = """lines:
  head:
    sargam: S R G m P | d n P m | G R
    words: The ri-ver_ ru-_nning_ * to~the sea
"""
    lyrics = alone(sheet(text)).findall(".//lyric[@number='2']")
    read = [
        (lyric.findtext("syllabic"), lyric.findtext("text"),
         None if (line := lyric.find("extend")) is None else line.get("type"))
        for lyric in lyrics
    ]  # fmt: skip
    assert read == [
        ("single", "The", None),
        ("begin", "ri", None),
        ("end", "ver", "start"),
        (None, None, "stop"),
        ("begin", "ru", None),
        ("end", "nning", "start"),
        (None, None, "stop"),
        ("single", "to the", None),
        ("single", "sea", None),
    ]


def test_sargam_under_struck_notes_alone() -> None:
    root = alone(line("S' N, S - | - - - | {R}G"))
    assert texts(root, ".//lyric/text") == ["S\u0307", "N\u0323", "S", "(R) G"]


def test_strokes() -> None:
    text = "lines:\n  head: {sargam: S R G m P d n d P m}\n"
    text += "  break: {strokes: 'dha dhinna | {ti}ta - ge | dha - | dha dha dha'}\n"
    piece = sheet(text)
    root = parsed(score_xml(piece))
    assert texts(root, ".//part-name") == ["Melody", "Hand drums"]
    melody, drums = root.findall("part")
    assert len(melody.findall("measure")) == len(drums.findall("measure"))
    assert drums.findtext(".//clef/sign") == "percussion"
    assert drums.findtext(".//staff-lines") == "1"
    assert set(texts(drums, ".//notehead")) == {"x"}
    assert all(note.find("rest") is not None for note in drums.findall("measure/note")[:4])
    syllables = ["dha", "dhin", "na", "(ti) ta", "ge", "dha", "dha", "dha", "dha"]
    assert texts(drums, ".//lyric/text") == syllables
    assert melody.findall(".//rehearsal") and not drums.findall(".//rehearsal")
    assert alone(piece, 1).findtext(".//clef/sign") == "percussion"


def test_a_piece_of_strokes_alone_has_one_part() -> None:
    root = parsed(score_xml(sheet("lines:\n  break: {strokes: dha dhin dha}\n")))
    assert texts(root, ".//part-name") == ["Hand drums"]


# E. Gould, Behind Bars, Rests: an empty bar of any length has a semibreve rest, centred (from
# memory). MusicXML 4.0: ``measure="yes"`` on a rest makes it a complete measure's.


def test_a_silent_section_is_one_rest_under_its_own_hidden_time_signature() -> None:
    whole = line("S - - - - || z z z z z || S", cycle="{beats: 5, sections: [5]}")
    root = parsed(score_xml(whole))
    assert len(root.findall(".//rest[@measure='yes']")) == 1
    assert root.find(".//time[@print-object='no']") is None, "it is as long as the cycle"
    section = parsed(score_xml(line("S - | z z z | S R | G m P", cycle="jhaptal")))
    first, silent, after, last = section.findall("part/measure")
    assert first.findtext("attributes/time/beats") == "2+3+2+3"
    assert silent.find("note/rest[@measure='yes']") is not None
    hidden = [m.find("attributes/time[@print-object='no']") for m in (silent, after)]
    assert [time.findtext("beats") for time in hidden if time is not None] == ["3", "2+3+2+3"]
    assert last.find("attributes") is None
    # The time signature of the cycle is shown here, and there is but one in a measure.
    opening = parsed(score_xml(line("z z | S R G", cycle="jhaptal"))).find("part/measure")
    assert opening is not None and texts(opening, "note/type") == ["half"]
    four = parsed(score_xml(line("z z z z | S", cycle="tintal"))).find("part/measure")
    assert four is not None and texts(four, "note/type") == ["half", "half"]


def test_the_engraver_is_given_the_room_of_a_silent_section_as_hidden_rests() -> None:
    """A measure rest has no length that the engraver spaces."""
    silent = alone(line("S - | z z z | S", cycle="jhaptal")).findall("part/measure")[1]
    notes = silent.findall("note")
    assert [note.get("print-object") for note in notes] == [None, "no", "no", "no"]
    assert [note.findtext("voice") for note in notes] == ["1", "2", "2", "2"]
    assert notes[0].find("rest[@measure='yes']") is not None
    assert texts(silent, "note/type") == ["quarter", "quarter", "quarter"]


def test_glides_run_from_the_last_tied_note_to_the_next() -> None:
    root = alone(line("S - | - ~R~G | S"))
    notes = [note for note in root.iter("note") if note.find("rest") is None]
    found = [[slide.get("type") for slide in note.iter("slide")] for note in notes]
    assert found[:5] == [[], ["start"], ["stop", "start"], ["stop"], []]


def test_marks() -> None:
    piece = line(
        "!trill!S !mordent!R | !gamak!G !accent!m !staccato!P | !tenuto!d !fermata!P |"
        " !andolan!g - - || - !pp!S"
    )
    root = alone(piece)
    for mark in ("trill-mark", "mordent", "accent", "staccato", "tenuto", "fermata"):
        assert len(root.findall(f".//notations//{mark}")) == 1
    assert [wave.get("type") for wave in root.iter("wavy-line")] == ["start", "stop"]
    assert texts(root, ".//direction[@placement='below']//words") == ["gam."]
    assert len(root.findall(".//dynamics/pp")) == 1


def test_grace_notes() -> None:
    root = alone(line("{R}S {GR}S"))
    graces = [note for note in root.iter("note") if note.find("grace") is not None]
    assert [note.findtext("type") for note in graces] == ["eighth", "16th", "16th"]
    assert [texts(note, "beam") for note in graces] == [[], ["begin"] * 2, ["end"] * 2]
    assert [str(note.get("id")) for note in root.iter("note")][:5] == [
        "n-A-0-g1", "n-A-0", "n-A-1-g1", "n-A-1-g2", "n-A-1",
    ]  # fmt: skip


def test_graces_are_said_with_their_note_and_have_no_syllable_of_their_own() -> None:
    melody = alone(line("{G,R}SR {g}S"))
    assert texts(melody, ".//lyric/text") == ["(G\u0323R) S", "R", "(g) S"]
    drums = alone(sheet("lines:\n  a: {strokes: 'dha.{kat}dha {kat.ti}dha'}\n"))
    assert texts(drums, ".//lyric/text") == ["dha", "(kat) dha", "(kat.ti) dha"]
    graces = [note for note in drums.iter("note") if note.find("grace") is not None]
    assert len(graces) == 3
    assert not any(note.findall("lyric") for note in graces)


def test_numbers() -> None:
    assert plain_number(Fraction(92)) == "92"
    assert plain_number(Fraction(185, 2)) == "92.5"
    assert plain_number(Fraction(400, 3)) == "133.333"


def test_the_declaration_names_the_format() -> None:
    data = score_xml(line("S"))
    assert data.startswith(b"<?xml version='1.0' encoding='UTF-8'?>\n<!DOCTYPE score-partwise")
    assert etree.fromstring(data).get("version") == "4.0"
