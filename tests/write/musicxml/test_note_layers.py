"""A kit's feet with stems down under its hands, and keyboards on two staves.

Hands up and feet down: Weinberg, Guide to Standardized Drumset Notation (Percussive Arts Society);
Gould, Behind Bars, on percussion; both from memory.
"""

from __future__ import annotations

import pytest
from support.bands import band_of, cached_part, part_element
from support.making import DEMO_BOOK, load_text, piece_of
from support.playing_musicxml import NATURAL
from support.reading_musicxml import Element, measure_beats, parsed, voices

from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.catalog.kit import DRUM, DRUMS
from cyclechart.write.musicxml.document import part_xml
from cyclechart.write.musicxml.note_templates import KIT_NOTATION

FEET = {("F", "4"), ("D", "4")}
"""The bass drum in the lowest space, the hi-hat's pedal under the staff."""
NAMES = [path.stem for path in DEMO_BOOK]


def kit_part(name: str) -> Element | None:
    band = band_of(name)
    kit = next((p for p in band.piece.players if p.instrument.is_kit), None)
    return part_element(band, kit) if kit is not None else None


@pytest.mark.parametrize("name", NAMES)
def test_feet_have_stems_down_and_hands_up(name: str) -> None:
    part = kit_part(name)
    if part is None:
        return
    feet = 0
    for measure in part.iterfind("measure"):
        upper, *others = voices(measure)
        for notes, stem in ((upper, "up"), *((other, "down") for other in others)):
            for note in notes:
                place = note.find("unpitched")
                if place is None or note.findtext("notehead") == "slash":
                    continue
                step = str(place.findtext("display-step")), str(place.findtext("display-octave"))
                assert note.findtext("stem") == stem
                if note.find("cue") is None:
                    assert (step in FEET) == (stem == "down")
                    feet += stem == "down"
    assert feet


@pytest.mark.parametrize("name", NAMES)
def test_a_drawn_voice_never_falls_silent_where_both_rest(name: str) -> None:
    # What is not drawn stands only where the other voice has a note.
    part = kit_part(name)
    if part is None:
        return
    divisions = int(str(part.findtext("measure/attributes/divisions")))
    for measure in part.iterfind("measure"):
        measure_beats(measure, divisions)
        if measure.find("backup") is None:
            hidden = measure.iterfind("note[@print-object='no']")
            assert not list(hidden)
            continue
        shown: set[tuple[int, int]] = set()
        unseen: list[tuple[int, int]] = []
        for notes in voices(measure):
            at = 0
            for note in notes:
                if note.find("chord") is not None:
                    continue
                length = int(str(note.findtext("duration")))
                span = (at, at + length)
                at += length
                if note.get("print-object") == "no":
                    unseen.append(span)
                else:
                    shown.add(span)
        for start, end in unseen:
            assert any(a < end and start < b for a, b in shown)


def test_a_foot_alone_on_a_beat_has_a_plain_quarter() -> None:
    part = kit_part("salt-road")
    assert part is not None
    first = next(m for m in part.iterfind("measure") if m.find("backup") is not None)
    lower = [note for note in voices(first)[1] if note.get("print-object") != "no"]
    assert [note.findtext("type") for note in lower] == ["quarter", "quarter"]
    assert all(note.find("beam") is None for note in lower)


TWO_STAVES = (
    "title: T\ncomposer: C\ntonic: D\nmode: kafi\ncycle: jhaptal\ntempo: 90\n"
    "players: {flute: , piano: {plays: voicings}}\n"
    "lines:\n  head: {lands: free, sargam: S -}\n"
    "form:\n  - groove: 5\n  - {solo: piano, cycles: 2}\n  - {free: flute, seconds: 9}\n"
)


def test_a_piano_reads_two_staves_with_the_low_tones_on_the_lower() -> None:
    piece = load_text(TWO_STAVES).piece
    assert piece is not None
    band = Band(piece)
    piano = next(player for player in piece.players if player.name == "piano")
    part = parsed(part_xml(part_sheet(band, piano))).find("part")
    assert part is not None
    assert part.findtext("measure/attributes/staves") == "2"
    signs = [clef.findtext("sign") for clef in part.iterfind("measure/attributes/clef")]
    assert signs == ["G", "F"]
    chords = 0
    for measure in part.iterfind("measure"):
        upper, lower = voices(measure)
        keys = []
        for notes, staff, low, high in ((upper, "1", 55, 86), (lower, "2", 35, 65)):
            assert {note.findtext("staff") for note in notes} == {staff}
            found = [key_of(note) for note in notes if note.find("pitch") is not None]
            # G3 to D6 and B1 to F4: at most two ledger lines.
            assert all(low <= key <= high for key in found)
            keys.append(found)
        if keys[0] and keys[1]:
            chords += 1
            assert max(keys[1]) < min(keys[0])
    assert chords >= 4


def key_of(note: Element) -> int:
    pitch = note.find("pitch")
    assert pitch is not None
    octave, alter = int(str(pitch.findtext("octave"))), int(pitch.findtext("alter", "0"))
    return 12 * (octave + 1) + NATURAL[str(pitch.findtext("step"))] + alter


def test_a_kits_cadence_has_the_syllables_and_brackets_of_the_hand_drum() -> None:
    band = band_of("the-delta-post")
    sheets = {player.name: cached_part(band, player) for player in band.piece.players}
    tabla, kit = (sheets[name].strains[-1] for name in ("tabla", "drum-kit"))
    spoken = {
        (note.start, note.syllable) for note in tabla.notes if note.syllable not in ("/", "figure")
    }
    under = {
        (note.start, word) for note in kit.notes for word in (getattr(note, "under", None) or ())
    }
    assert spoken and under == spoken
    spans = [
        [
            (strain.notes[one.first].start, strain.notes[one.last].start, one.label)
            for one in strain.brackets
        ]
        for strain in (tabla, kit)
    ]
    assert spans[0] == spans[1] and len(spans[0]) == 9


@pytest.mark.parametrize("name", NAMES)
def test_a_kits_brackets_reach_as_far_as_the_melodys(name: str) -> None:
    band = band_of(name)
    sheets = {player.name: cached_part(band, player) for player in band.piece.players}
    kit = next((p.name for p in band.piece.players if p.instrument.is_kit), None)
    if kit is None:
        return
    for strain in sheets[kit].strains:
        starts = {strain.notes[span.first].start: span for span in strain.brackets}
        for player in band.piece.players:
            if player.plays != "melody":
                continue
            other = next(s for s in sheets[player.name].strains if s.letter == strain.letter)
            if [m.start for m in other.measures] != [m.start for m in strain.measures]:
                continue
            for span in other.brackets:
                mine = starts.get(other.notes[span.first].start)
                if span.kind == "statement" and mine is not None and mine.kind == "statement":
                    end = strain.notes[mine.last].start
                    assert end == other.notes[span.last].start, (strain.letter, span)


def test_every_sound_has_a_name_for_the_key() -> None:
    assert len({drum.words for drum in DRUMS}) == len(DRUM) == len(DRUMS)
    assert set(KIT_NOTATION) == set(DRUM)


def test_a_silent_lower_staff_has_one_rest_under_a_melody() -> None:
    band = Band(
        piece_of(
            "cycle: keherwa\nplayers: {flute: {plays: melody}, piano: {plays: voicings}}\n"
            "lines:\n  head: {sargam: S R G m | P m G R}\n"
            "  riff: {sargam: S -R z GP | m - z R}\n  low: {sargam: 'S,, R,, z G,, | S - R G'}\n"
            "form: [play: {flute: head, piano: riff}, play: {flute: head, piano: low}]\n"
        )
    )
    measures = list(part_element(band, band.piece.players[1]).iterfind("measure"))
    lower = [[note for note in measure if note.findtext("staff") == "2"] for measure in measures]
    for notes in (lower[0], lower[1]):
        assert [note.find("rest[@measure='yes']") is not None for note in notes] == [True]
    lengths = [sum(int(str(note.findtext("duration"))) for note in notes) for notes in lower[:2]]
    assert lengths[0] == lengths[1]
    assert any(note.find("pitch") is not None for note in lower[2])
