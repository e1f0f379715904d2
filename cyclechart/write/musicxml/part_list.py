"""The players in MusicXML's list of parts: names, groups, General MIDI instruments."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import NamedTuple

from lxml import etree

from cyclechart.arrange.sheet.model import Reader
from cyclechart.catalog.kit import DRUM
from cyclechart.text.display import player_title
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.staff import clean_text

PERCUSSION_CHANNEL = 10

KEPT_TIME_WITH = (
    "kick", "snare", "rim", "ghost", "hat", "foot", "ride", "open-hat", "crash",
)  # fmt: skip
"""The drums of a kit that keeps time, which every kit's part lists."""


class PartGroup(NamedTuple):
    """Parts side by side under one bracket, by the indices of the first and the last of them.

    ``joined``: barlines run through it.
    """

    first: int
    last: int
    joined: bool


def part_groups(readers: Sequence[Reader]) -> Iterator[PartGroup]:
    """Yield the groups of a score: the players of each section that has several."""
    for section, run in groupby(enumerate(readers), key=lambda item: item[1].section):
        members = list(run)
        if section and len(members) > 1:
            yield PartGroup(members[0][0], members[-1][0], members[0][1].joined)


def published_part_list(readers: Sequence[Reader], drums: Sequence[Sequence[str]]) -> Element:
    """Return the list of the parts of a published score, with their groups and their sounds.

    ``drums``: what is written of a kit in each part.
    """
    part_list = etree.Element("part-list")
    for number, (reader, written) in enumerate(zip(readers, drums, strict=True), start=1):
        add_instruments(part_list, number, reader, written)
    _add_groups(part_list, readers)
    return part_list


def engraved_part_list(readers: Sequence[Reader], *, opening: bool) -> Element:
    """Return the list of the parts of a drawn score. ``opening``: the score begins, with full names
    before its first system."""
    part_list = etree.Element("part-list")
    for number, reader in enumerate(readers, start=1):
        part = _sub(part_list, "score-part", id=f"P{number}")
        name = reader.player if opening or not reader.short else reader.short
        _sub(part, "part-name").text = clean_text(player_title(name) if opening else name)
        _add_abbreviation(part, reader)
    _add_groups(part_list, readers)
    return part_list


def _add_groups(part_list: Element, readers: Sequence[Reader]) -> None:
    parts = list(part_list)
    for number, group in enumerate(part_groups(readers), start=1):
        start = etree.Element("part-group", type="start", number=str(number))
        _sub(start, "group-symbol").text = "bracket"
        _sub(start, "group-barline").text = "yes" if group.joined else "no"
        parts[group.first].addprevious(start)
        stop = etree.Element("part-group", type="stop", number=str(number))
        parts[group.last].addnext(stop)


def _add_abbreviation(part: Element, reader: Reader) -> None:
    if reader.short:
        _sub(part, "part-abbreviation").text = clean_text(reader.short)


def add_instruments(
    part_list: Element, number: int, reader: Reader, drums: Sequence[str] = ()
) -> None:
    """Add a part to the list: its name, its instruments, their General MIDI sounds.

    ``number``: the number of the part, from 1; ``drums``: what is written in it of a kit.
    """
    part = _sub(part_list, "score-part", id=f"P{number}")
    _sub(part, "part-name").text = clean_text(player_label(reader))
    _add_abbreviation(part, reader)
    if reader.staff == "kit":
        drums = tuple(dict.fromkeys((*KEPT_TIME_WITH, *drums)))
        for name in drums:
            sound = _sub(part, "score-instrument", id=f"P{number}-{name}")
            _sub(sound, "instrument-name").text = name
        for name in drums:
            midi = _sub(part, "midi-instrument", id=f"P{number}-{name}")
            _sub(midi, "midi-channel").text = str(PERCUSSION_CHANNEL)
            _sub(midi, "midi-unpitched").text = str(DRUM[name].key + 1)
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
