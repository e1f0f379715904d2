"""The instruments of the catalogue against an independent library and what must hold for all."""

from __future__ import annotations

import re
from pathlib import Path

import mido
import pretty_midi
import pytest
import yaml
from music21 import instrument as music21

import cyclechart.catalog
from cyclechart.catalog.instruments import Instrument, instrument, instrument_names, key_of
from cyclechart.catalog.roles import THEKA

NAMES = instrument_names()


def made(name: str) -> Instrument:
    found = instrument(name)
    assert found is not None
    return found


def test_there_are_over_forty_and_an_outside_reader_finds_the_same() -> None:
    # Outside: PyYAML's own loader on the whole file.
    text = (Path(cyclechart.catalog.__file__).parent / "instruments.yaml").read_text("utf-8")
    assert tuple(yaml.safe_load(text)) == NAMES
    assert len(NAMES) > 40


@pytest.mark.parametrize(
    ("name", "other"),
    [
        # music21 10's instruments: what a written note sounds as.
        ("alto-sax", music21.AltoSaxophone()), ("tenor-sax", music21.TenorSaxophone()),
        ("baritone-sax", music21.BaritoneSaxophone()), ("soprano-sax", music21.SopranoSaxophone()),
        ("clarinet", music21.Clarinet()), ("bass-clarinet", music21.BassClarinet()),
        ("trumpet", music21.Trumpet()), ("horn", music21.Horn()), ("piccolo", music21.Piccolo()),
        ("double-bass", music21.Contrabass()), ("guitar", music21.AcousticGuitar()),
        ("bass-guitar", music21.ElectricBass()), ("english-horn", music21.EnglishHorn()),
    ],
)  # fmt: skip
def test_a_written_note_sounds_as_music21_has_it(name: str, other: music21.Instrument) -> None:
    known = {"guitar": -12, "bass-guitar": -12}  # music21 leaves the octave of these to the clef
    theirs = other.transposition.semitones if other.transposition is not None else 0
    assert made(name).transposes in {theirs, known.get(name, theirs)}


@pytest.mark.parametrize(
    ("name", "lowest"),
    [
        # The lowest note of each, as music21 10 has it.
        ("violin", "G3"), ("viola", "C3"), ("cello", "C2"), ("flute", "C4"), ("oboe", "Bb3"),
        ("bassoon", "Bb1"), ("guitar", "E2"), ("trombone", "E2"), ("vibraphone", "F3"),
        ("mandolin", "G3"),
    ],
)  # fmt: skip
def test_the_lowest_note_is_the_handbooks(name: str, lowest: str) -> None:
    known = {
        "violin": music21.Violin, "viola": music21.Viola, "cello": music21.Violoncello,
        "flute": music21.Flute, "oboe": music21.Oboe, "bassoon": music21.Bassoon,
        "guitar": music21.AcousticGuitar, "trombone": music21.Trombone,
        "vibraphone": music21.Vibraphone,
        "mandolin": music21.Mandolin,
    }[name]  # fmt: skip
    theirs = known().lowestNote
    assert made(name).lowest == key_of(lowest)
    if theirs is not None:
        assert abs(theirs.ps - made(name).lowest) <= 1


@pytest.mark.parametrize(
    ("name", "program"),
    [
        # General MIDI names as pretty_midi has them.
        ("flute", "Flute"), ("alto-sax", "Alto Sax"), ("trumpet", "Trumpet"), ("violin", "Violin"),
        ("double-bass", "Acoustic Bass"), ("bass-guitar", "Electric Bass (finger)"),
        ("vibraphone", "Vibraphone"), ("sitar", "Sitar"), ("clarinet", "Clarinet"),
        ("harmonium", "Reed Organ"), ("shehnai", "Shanai"), ("horn", "French Horn"),
        ("cello", "Cello"), ("trombone", "Trombone"), ("soprano", "Voice Oohs"),
        ("guitar", "Acoustic Guitar (nylon)"), ("piano", "Acoustic Grand Piano"),
        ("english-horn", "English Horn"), ("nadaswaram", "Shanai"), ("esraj", "Fiddle"),
    ],
)  # fmt: skip
def test_the_program_is_that_of_general_midi(name: str, program: str) -> None:
    assert made(name).program == pretty_midi.instrument_name_to_program(program)


@pytest.mark.parametrize("name", NAMES)
def test_what_holds_for_every_instrument(name: str) -> None:
    one = made(name)
    assert one.name == name
    assert 0 <= one.lowest <= one.low < one.high <= one.highest <= 127
    assert one.roles
    assert one.title
    drums = one.roles == (THEKA,)
    assert drums == (one.program is None) == (one.clef == "percussion")
    if not drums:
        mido.Message("program_change", program=one.program)
        assert one.high - one.low >= 12
    assert not one.breath or one.family in ("woodwind", "brass", "voice")
    assert one.bends or one.family in ("keyboard", "frets", "mallets", "bass")
    assert re.fullmatch("[a-z]+(-[a-z]+)*", name)


def test_other_names_and_spellings() -> None:
    assert made("Alto Saxophone").name == "alto-sax"
    assert made("French horn").name == "horn"
    assert made("upright bass").name == "double-bass"
    assert made("Drum Kit").name == "drum-kit"
    # Instruments of their own, not other names of the shehnai, the sarangi and the bansuri.
    for name in ("nadaswaram", "esraj", "dilruba", "venu", "thavil", "morsing", "konnakol"):
        assert made(name).name == name
    assert made("cor anglais").name == "english-horn"
    assert made("Mezzo").name == "mezzo-soprano"
    assert [name for name in NAMES if made(name).recites] == ["konnakol"]
    assert instrument("kazoo") is None
    assert instrument("") is None
    assert instrument("字") is None
    named = [other for name in NAMES for other in made(name).aka]
    assert len(named) == len(set(named))
    assert not set(named) & set(NAMES)


def test_note_names() -> None:
    # Scientific pitch notation: C4 is MIDI key 60, A4 69.
    assert [key_of(note) for note in ("C4", "A4", "Bb3", "C-1", "G9")] == [60, 69, 58, 0, 127]
    with pytest.raises(ValueError, match="not a note name"):
        key_of("H4")
