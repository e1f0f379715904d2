"""A player in MusicXML's list of parts: his name, and how a machine would sound what he plays."""

from __future__ import annotations

from cyclechart.arrange.roles.drum_kit import KIT
from cyclechart.arrange.sheet.model import Reader
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.staff import clean_text

PERCUSSION_CHANNEL = 10


def add_instruments(listed: Element, number: int, reader: Reader) -> None:
    """The part of a number (from 1): its name, its instruments, their General MIDI sounds."""
    part = _sub(listed, "score-part", id=f"P{number}")
    _sub(part, "part-name").text = clean_text(player_label(reader))
    if reader.staff == "kit":
        for name in dict.fromkeys(KIT.values()):
            sound = _sub(part, "score-instrument", id=f"P{number}-{name}")
            _sub(sound, "instrument-name").text = name
        for key, name in KIT.items():
            midi = _sub(part, "midi-instrument", id=f"P{number}-{name}")
            _sub(midi, "midi-channel").text = str(PERCUSSION_CHANNEL)
            _sub(midi, "midi-unpitched").text = str(key + 1)
        return
    sound = _sub(part, "score-instrument", id=f"P{number}-I1")
    _sub(sound, "instrument-name").text = clean_text(reader.instrument)
    program = reader.program
    midi = _sub(part, "midi-instrument", id=f"P{number}-I1")
    if program is None:
        _sub(midi, "midi-channel").text = str(PERCUSSION_CHANNEL)
    else:
        _sub(midi, "midi-program").text = str(program + 1)


def player_label(reader: Reader) -> str:
    """A player's name beside his instrument's where it says more."""
    plain = reader.player.replace("-", " ").lower()
    instrument = reader.instrument.lower()
    return reader.instrument if plain in instrument else f"{reader.player} ({reader.instrument})"
