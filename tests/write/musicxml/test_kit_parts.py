"""Kit lines as MusicXML: valid, drums in their places, flams as graces; music21 reads them."""

from __future__ import annotations

import io
from fractions import Fraction as F

import music21
import pytest
from support.making import piece_of
from support.reading_musicxml import Element, measure_beats, parsed

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.sheet.lead_sheet import sheet_of
from cyclechart.write.engraving.kit_key import kit_key
from cyclechart.write.musicxml.document import part_xml, score_xml

TEXT = """
cycle: {cycle}
players: {{flute: {{octave: 1}}, drum-kit: }}
lines:
  head: {{sargam: {head}}}
  rock: {{kit: "{kit}"}}
form: [{{groove: 1}}, {{play: {{flute: head, drum-kit: rock}}, times: 2}}, {{groove: 1}}]
"""
ROCK = "k+h h !accent!{s}s+k hh | k+r+f [t m l]x3/2 k+b !ff!c+k"


def kit_part(kit: str = ROCK, cycle: str = "keherwa", head: str = "S R G m P d n d") -> Element:
    piece = piece_of(TEXT.format(kit=kit, cycle=cycle, head=head))
    band = Band(piece)
    player = next(one for one in piece.players if one.name == "drum-kit")
    return parsed(part_xml(part_sheet(band, player)))


def places(root: Element) -> set[tuple[str, str, str]]:
    """The step, octave and head of each drum that is written."""
    return {
        (
            note.findtext("unpitched/display-step", ""),
            note.findtext("unpitched/display-octave", ""),
            note.findtext("notehead", ""),
        )
        for note in root.iterfind(".//note")
        if note.find("unpitched") is not None and note.findtext("notehead") != "slash"
    }


def test_each_drum_stands_in_its_place() -> None:
    # Places by N. Weinberg, Guide to Standardized Drumset Notation (from memory).
    assert places(kit_part()) >= {
        ("F", "4", "normal"), ("C", "5", "normal"), ("G", "5", "x"), ("F", "5", "x"),
        ("D", "4", "x"), ("E", "5", "normal"), ("D", "5", "normal"), ("A", "4", "normal"),
        ("F", "5", "diamond"), ("A", "5", "x"),
    }  # fmt: skip


def test_feet_have_their_stems_down_and_hands_up() -> None:
    for note in kit_part().iterfind(".//note"):
        place = note.findtext("unpitched/display-step", "") + note.findtext(
            "unpitched/display-octave", ""
        )
        if place and note.findtext("notehead") != "slash" and note.find("grace") is None:
            assert note.findtext("stem") == ("down" if place in ("F4", "D4") else "up"), place


def test_a_flam_is_a_grace_note_on_the_snares_place_and_accents_and_dynamics_are_written() -> None:
    root = kit_part()
    (grace,) = root.iterfind(".//note[grace]")
    assert grace.findtext("unpitched/display-step") == "C"
    assert grace.findtext("notehead") == "normal"
    accent = root.find(".//accent")
    assert accent is not None and accent.get("placement") == "above"
    assert root.find(".//dynamics/ff") is not None


def test_every_drum_is_listed_with_its_general_midi_key() -> None:
    root = kit_part()
    keys = {
        midi.get("id", "").removeprefix("P1-"): int(midi.findtext("midi-unpitched", "0")) - 1
        for midi in root.iterfind(".//midi-instrument")
    }
    assert {name: keys[name] for name in ("bell", "high-tom", "mid-tom", "low-tom")} == {
        "bell": 53, "high-tom": 50, "mid-tom": 47, "low-tom": 43,
    }  # fmt: skip
    plain = kit_part(kit="k+h h s+h h | k+h h s+h h")
    assert len(list(plain.iterfind(".//midi-instrument"))) == 9


@pytest.mark.parametrize(
    ("cycle", "head", "kit"),
    [
        (
            "{beats: 11 1/2, sections: [4, 4, 3 1/2], stressed: [1, 9], open: [5]}",
            "S R G m | P d n d | P m G/2",
            "k+h -h s+hk h | -kh- k+h s+h o | k+h [s t m]x3/2 c+k h/2",
        ),
        ("rupak", "S R G m P d n", "[k h s h k]x5/4 h h | z s+h {ss}s- -"),
    ],
)
def test_measures_are_full_in_odd_cycles(cycle: str, head: str, kit: str) -> None:
    root = kit_part(kit, cycle, head)
    divisions = int(root.findtext(".//divisions", "0"))
    lengths = [measure_beats(measure, divisions) for measure in root.iterfind(".//measure")]
    assert set(lengths) <= {F(4), F(7, 2), F(3), F(2)}


def test_music21_finds_the_groove() -> None:
    sheet = kit_part()
    text = io.BytesIO()
    sheet.getroottree().write(text)
    score = music21.converter.parseData(text.getvalue().decode(), format="musicxml")
    measures = []
    for measure in score.parts[0].getElementsByClass("Measure"):
        struck = set()
        for found in measure.recurse().notes:
            each = found.notes if hasattr(found, "notes") else (found,)
            at = float(found.getOffsetInHierarchy(measure))
            if not found.duration.isGrace:
                struck |= {(at, one.displayName) for one in each}
        measures.append(struck)
    # k+h h s+k hh
    assert {
        (0.0, "F4"), (0.0, "G5"), (1.0, "G5"), (2.0, "F4"), (2.0, "C5"), (3.0, "G5"), (3.5, "G5"),
    } in measures  # fmt: skip


def test_the_lead_sheet_has_a_part_for_the_kit() -> None:
    piece = piece_of(TEXT.format(kit=ROCK, cycle="keherwa", head="S R G m P d n d"))
    root = parsed(score_xml(sheet_of(piece)))
    assert [name.text for name in root.iterfind(".//part-name")] == ["Melody", "Drum kit"]
    kit = root.findall("part")[1]
    assert kit.findtext(".//clef/sign") == "percussion"
    assert kit.find(".//staff-lines") is None
    assert ("F", "5", "diamond") in places(kit)


def test_the_key_lists_each_drum_of_the_line() -> None:
    piece = piece_of(TEXT.format(kit=ROCK, cycle="keherwa", head="S R G m P d n d"))
    band = Band(piece)
    sheet = part_sheet(band, next(one for one in piece.players if one.name == "drum-kit"))
    key = kit_key(sheet)
    assert key is not None
    assert {"bell", "high-tom", "mid-tom", "low-tom"} <= set(sheet.drums)
    for words in ("bell of the ride", "high tom", "low tom"):
        assert words.split()[0] in key.svg
