"""Cues: at the pitch that sounds, or saying their octave; named with the player; with a rest.

E. Gould, Behind Bars, Preparing Parts (cues at sounding pitch for the reader's instrument, in its
clef and octave or with the octave said; the player's own rest at full size): from memory.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from support.making import piece_of
from support.reading_musicxml import measure_beats, parsed

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.parts.band import Band
from cyclechart.arrange.parts.cues import LEGIBLE, cue_text
from cyclechart.arrange.parts.part_sheets import part_sheet
from cyclechart.arrange.sheet.model import Sheet
from cyclechart.catalog.instruments import MIDDLE_KEYS
from cyclechart.write.musicxml.document import part_xml, strain_xml


def tune(cycle: str = "tintal", sargam: str = "S R G m | P - d n | z z z z | S' n d P") -> Band:
    return Band(
        piece_of(
            "players:\n  trumpet: {plays: melody}\n  tenor-sax: {plays: melody, octave: -1}\n"
            "  trombone: {plays: melody, octave: -1}\n  viola: {plays: melody}\n"
            f'cycle: {cycle}\nlines:\n  head: {{sargam: "{sargam}"}}\nform:\n'
            "  - {play: head, by: [tenor-sax], times: 5}\n  - {play: head}\n"
        )
    )


def cue_of(band: Band, name: str) -> list[PartNote]:
    player = next(one for one in band.piece.players if one.name == name)
    strain = part_sheet(band, player).strains[0]
    return [note for note in strain.notes if isinstance(note, PartNote) and note.head == "cue"]


def sheet_of_player(band: Band, name: str) -> Sheet:
    return part_sheet(band, next(one for one in band.piece.players if one.name == name))


@pytest.mark.parametrize(
    ("octaves", "words"),
    [
        (0, "Tenor Sax"),
        (1, "Tenor Sax (sounds 8ve lower)"),
        (-1, "Tenor Sax (sounds 8ve higher)"),
        (2, "Tenor Sax (sounds 2 8ves lower)"),
    ],
)
def test_a_cue_is_named_with_its_player_and_its_octave(octaves: int, words: str) -> None:
    assert cue_text("Tenor Sax", octaves) == words


@pytest.mark.parametrize("name", ["trumpet", "viola", "trombone"])
def test_a_cue_is_at_sounding_pitch_where_that_can_be_read(name: str) -> None:
    band = tune()
    cue = cue_of(band, name)
    assert cue, name
    player = next(one for one in band.piece.players if one.name == name)
    sheet = sheet_of_player(band, name)
    key = sheet.strains[0].key
    written = [key.tonic.midi + key.shift + note.pitch for note in cue if note.pitch is not None]
    tenor = band.piece.state.tonic.midi - 12
    sounding = [tenor + tone for tone in (0, 2, 4, 5, 7, 8, 10, 12, 10, 8, 7)]
    away = [w + player.instrument.transposes - s for w, s in zip(written, sounding, strict=True)]
    assert len(set(away)) == 1 and away[0] % 12 == 0
    middle = MIDDLE_KEYS[player.instrument.clef]
    assert all(abs(key - middle) <= LEGIBLE for key in written)
    if away[0]:
        # No smaller move would do, and the words say where it sounds.
        assert any(abs(key - away[0] - middle) > LEGIBLE for key in written)
        assert f"sounds {abs(away[0]) // 12}" in cue[0].text or "sounds 8ve" in cue[0].text
    else:
        assert cue[0].text == "Tenor Sax"


@pytest.mark.parametrize("engraved", [True, False])
@pytest.mark.parametrize(
    ("cycle", "sargam", "rests"),
    [
        ("tintal", "S R G m | P - d n | z z z z | S' n d P", 4),
        ("jhaptal", "SR - | G [m P d]x3/2 | n - | S' - n", 4),
        ("{beats: 8 3/4, sections: [3 1/2, 5 1/4]}", "S R G m/2 | P - d - n S'/4", 2),
    ],
)
def test_a_cue_bar_has_the_readers_own_rest_at_full_size(
    cycle: str, sargam: str, rests: int, engraved: bool
) -> None:
    sheet = sheet_of_player(tune(cycle, sargam), "viola")
    strain = sheet.strains[0]
    data = strain_xml(sheet, strain, first=True) if engraved else part_xml(sheet)
    root = parsed(data)
    divisions = int(str(root.findtext(".//divisions")))
    cued = [m for m in root.iterfind("part/measure") if m.find("note/cue") is not None]
    first = next(m for m in strain.measures if m.cycle and not m.rests)
    whole = [m for m in strain.measures if m.cycle == first.cycle]
    assert len(whole) == rests
    for measure in cued:
        own = [
            note
            for note in measure.iterfind("note")
            if note.find("rest") is not None
            and note.find("cue") is None
            and note.get("print-object") is None
        ]
        assert len(own) == 1 and own[0].find("rest[@measure='yes']") is not None
        assert own[0].find("rest/display-step") is not None, "clear of the cue"
        voices = {note.findtext("voice") for note in measure.iterfind("note[cue]")}
        assert len(voices) == 1 and own[0].findtext("voice") not in voices
        length = Fraction(int(str(own[0].findtext("duration"))), divisions)
        assert length == measure_beats(measure, divisions)


def test_a_cue_has_no_words_of_any_verse() -> None:
    sung = piece_of(
        "players:\n  tenor: {plays: melody, octave: -1}\n  viola: {plays: melody}\n"
        "cycle: keherwa\nlines:\n"
        "  head: {sargam: S R G m | P - d n, words: [a b c d e f g, h i j k l m n]}\n"
        "form:\n  - {play: head, by: [tenor], times: 5}\n  - {play: head}\n"
    )
    cue = cue_of(Band(sung), "viola")
    assert cue
    assert not any(note.word or note.verses for note in cue)
