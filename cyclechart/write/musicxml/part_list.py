"""A player in MusicXML's list of parts: their name and their General MIDI instruments."""

from __future__ import annotations

from cyclechart.arrange.roles.drum_kit import KIT
from cyclechart.arrange.sheet.model import Reader
from cyclechart.text.display import player_title
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.staff import clean_text

PERCUSSION_CHANNEL = 10


def add_instruments(part_list: Element, number: int, reader: Reader) -> None:
    """Add a part to the list: its name, its instruments, their General MIDI sounds.

    ``number``: the number of the part, from 1.
    """
    part = _sub(part_list, "score-part", id=f"P{number}")
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
    """Return a player's name with their instrument in brackets, ``Voice (alto)``.

    It is the instrument alone where that contains the name, and with the player's number where that
    is all that the name adds: ``Trumpet 2 in B♭``.
    """
    title, instrument = player_title(reader.player), reader.instrument
    name, _, number = title.rpartition(" ")
    if title.lower() in instrument.lower():
        return instrument
    if number.isdigit() and name.lower() in instrument.lower():
        kind, sign, key = instrument.partition(" in ")
        return f"{kind} {number}{sign}{key}"
    # The letter of a key stays a capital: Reed (clarinet in B♭).
    words = [word if len(word) <= 2 else word.lower() for word in instrument.split(" ")]
    return f"{title} ({' '.join(words)})"
