"""Brackets and open ties, put into the engraver's own document.

It reads those of MusicXML, but closes the wrong one where two brackets stand at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lxml import etree

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.sheet.brackets import Bracket
from cyclechart.arrange.sheet.model import Strain
from cyclechart.piece.note import Note
from cyclechart.write.engraving.drawing import Element, parsed
from cyclechart.write.engraving.engraver_facts import MEI, NOTE_ID, XML_ID


def needs_brackets(strain: Strain) -> bool:
    """Return whether a strain has brackets or open ties."""
    return bool(strain.brackets) or any(_continues_tie(note) for note in strain.notes)


def _continues_tie(note: Note) -> bool:
    """Return whether a note goes on from one that is not drawn before it."""
    return isinstance(note, PartNote) and note.tied_in


def add_brackets(mei: str, strains: Sequence[Strain]) -> str:
    """Return the engraver's document of some strains, each a part of it, with their brackets and
    the ties of notes that go on from one that is not drawn before them."""
    root = parsed(mei)
    notes = _note_places(root)
    for number, strain in enumerate(strains, start=1):
        part = number if len(strains) > 1 else 0
        _add_brackets(strain, part, notes)
        _add_ties(strain, part, notes)
    return etree.tostring(root, encoding="unicode")


def bracket_id(strain: Strain, number: int, part: int) -> str:
    """Return the id of a bracket by its number in a strain; ``part``: the strain's number in a
    score, 0 where it stands alone."""
    return f"{_part_prefix(part)}b-{strain.letter}-{number}"


def _part_prefix(part: int) -> str:
    return f"p{part}-" if part else ""


@dataclass
class _NotePlace:
    """The place of a note of a strain, which may be spelled as several."""

    measure: Element
    system_start: Element
    """The first measure of its system."""

    last_id: str
    staff: str
    """The number of its staff in the system."""


def _note_places(root: Element) -> dict[str, _NotePlace]:
    """The places of the notes of a document, by the id of the first that each is spelled as."""
    places: dict[str, _NotePlace] = {}
    measure = system_start = root
    staff = "1"
    after_break = True
    for element in root.iter(f"{MEI}*"):
        if element.tag == f"{MEI}sb":
            after_break = True
        elif element.tag == f"{MEI}measure":
            measure = element
            if after_break:
                system_start, after_break = measure, False
        elif element.tag == f"{MEI}staff":
            staff = element.get("n", staff)
        elif match := NOTE_ID.fullmatch(element.get(XML_ID, "")):
            place = places.setdefault(match[1], _NotePlace(measure, system_start, match[0], staff))
            place.last_id = match[0]
    return places


def _add_brackets(strain: Strain, part: int, notes: Mapping[str, _NotePlace]) -> None:
    """Add the brackets of a strain, short ones first, which are set lowest."""
    note = f"{_part_prefix(part)}n-{strain.letter}"
    for number, span in sorted(enumerate(strain.brackets), key=_breadth):
        # Those that begin in a system stand in its first measure: what comes first there is set
        # nearest to the staff.
        first = notes[f"{note}-{span.first}"]
        bracket = {
            XML_ID: bracket_id(strain, number, part),
            "staff": first.staff,
            "startid": f"#{note}-{span.first}",
            "endid": f"#{notes[f'{note}-{span.last}'].last_id}",
            "func": "unspecified",
            "lstartsym": "angledown",
            "lendsym": "angledown",
            "lform": "solid" if span.kind == "statement" else "dashed",
        }
        etree.SubElement(first.system_start, f"{MEI}bracketSpan", bracket)


def _add_ties(strain: Strain, part: int, notes: Mapping[str, _NotePlace]) -> None:
    """Add the ties that begin before what is drawn."""
    note = f"{_part_prefix(part)}n-{strain.letter}"
    for number, written in enumerate(strain.notes):
        if _continues_tie(written):
            name = f"{note}-{number}"
            tie = {"tstamp": "0", "endid": f"#{name}"}
            etree.SubElement(notes[name].measure, f"{MEI}tie", tie)


def _breadth(item: tuple[int, Bracket]) -> tuple[bool, int]:
    return item[1].kind == "statement", item[1].last - item[1].first
