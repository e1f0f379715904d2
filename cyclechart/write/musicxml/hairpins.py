"""Hairpins under the notes: a wedge, or the word with dashes where it is too long for one."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from cyclechart.piece.hairpins_and_slurs import Hairpin, hairpins_of
from cyclechart.piece.note import Note
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub

LONGEST_WEDGE = Fraction(12)
"""The beats up to which a hairpin is a wedge: about the music of a line on paper."""

_WEDGES = {"cresc": "crescendo", "dim": "diminuendo"}


class HairpinWriter:
    """Opens and closes the hairpins of a strain as its notes are written to MusicXML."""

    def __init__(self, notes: Sequence[Note]) -> None:
        hairpins = list(hairpins_of(notes))
        self.starts = {hairpin.first: hairpin for hairpin in hairpins}
        self.ends = {hairpin.last: hairpin for hairpin in hairpins}
        self.in_words = {
            hairpin.first
            for hairpin in hairpins
            if notes[hairpin.last].end - notes[hairpin.first].start > LONGEST_WEDGE
        }

    def open(self, measure: Element, index: int) -> None:
        """Add the start of a hairpin before the first written value of a note."""
        hairpin = self.starts.get(index)
        if hairpin is None:
            return
        if hairpin.first not in self.in_words:
            kind = _WEDGES[hairpin.kind]
            direction = _sub(measure, "direction", placement="below")
            _sub(_sub(direction, "direction-type"), "wedge", type=kind, number="1")
            return
        # With a dynamic it is one text, "p cresc.", or the two would stand upon one another.
        dynamic = _dynamic_before(measure)
        direction = _sub(measure, "direction", placement="below") if dynamic is None else dynamic
        words = _sub(_sub(direction, "direction-type"), "words")
        words.set("font-style", "italic")
        words.text = f"{hairpin.kind}."
        _sub(_sub(direction, "direction-type"), "dashes", type="start", number="1")

    def close(self, measure: Element, index: int) -> None:
        """Add the end of a hairpin after the last written value of a note."""
        hairpin: Hairpin | None = self.ends.get(index)
        if hairpin is None:
            return
        sign = "dashes" if hairpin.first in self.in_words else "wedge"
        direction = _sub(measure, "direction", placement="below")
        _sub(_sub(direction, "direction-type"), sign, type="stop", number="1")


def _dynamic_before(measure: Element) -> Element | None:
    """Return the direction with the dynamic of the note that comes next, if it has one."""
    for element in reversed(measure):
        if element.find("direction-type/dynamics") is not None:
            return element
        if element.tag != "direction" and element.find("grace") is None:
            return None
    return None
