"""The directions over a measure: claps and waves, jumps, counts of repeats, changes of tempo."""

from __future__ import annotations

from lxml import etree

from cyclechart.arrange.sheet.measures import OPENING
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub

SIGN_HEIGHT = 25
"""The height of the row of claps and waves above the staff, in tenths of a staff space."""

TO_CODA = "To Coda"

_SOUNDS = {
    "segno": ("segno", "1"), "coda": ("coda", "1"), "To Coda": ("tocoda", "1"),
    "Fine": ("fine", "yes"), "D.S. al Coda": ("dalsegno", "1"), "D.S. al Fine": ("dalsegno", "1"),
}  # fmt: skip
"""The attribute of MusicXML's sound element for each jump, and its value."""


def jump_direction(jump: str, *, engraved: bool) -> Element:
    """Return the direction with the sign or the word of a jump.

    ``engraved``: it is for a picture, where the sign stands beside the words too; other programs
    would take that for the coda itself.
    """
    # The way back stands under the end, apart from the way out to the coda, which is over it.
    place = "below" if jump.startswith("D.S.") else "above"
    direction = etree.Element("direction", placement=place)
    kind = _sub(direction, "direction-type")
    if jump in OPENING:
        _sub(kind, jump)
    else:
        words = _sub(kind, "words")
        words.set("font-weight", "bold")
        words.text = jump
        if jump == TO_CODA and engraved:
            _sub(_sub(direction, "direction-type"), "coda")
    name, value = _SOUNDS[jump]
    _sub(direction, "sound", {name: value})
    return direction


def repeat_count(times: int) -> Element:
    """Return the direction that says how often a repeat is played."""
    direction = etree.Element("direction", placement="above")
    words = _sub(_sub(direction, "direction-type"), "words")
    words.set("font-weight", "bold")
    words.text = f"×{times}"
    return direction


def tempo_change(word: str) -> Element:
    """Return the direction of a steady change of tempo: its word, with dashes that go on."""
    direction = etree.Element("direction", placement="above")
    words = _sub(_sub(direction, "direction-type"), "words")
    words.set("font-style", "italic")
    words.text = word
    _sub(_sub(direction, "direction-type"), "dashes", type="start", number="1")
    return direction


def end_of_tempo_change() -> Element:
    direction = etree.Element("direction", placement="above")
    _sub(_sub(direction, "direction-type"), "dashes", type="stop", number="1")
    return direction


def add_clap(element: Element, sign: str, first: bool) -> None:
    """Add the sign of a clap or wave; the first beat of a cycle is in a circle."""
    direction = _sub(element, "direction", placement="above")
    words = _sub(_sub(direction, "direction-type"), "words")
    words.set("default-y", str(SIGN_HEIGHT))
    words.set("font-style", "normal")
    words.set("font-weight", "bold")
    if first:
        words.set("enclosure", "circle")
    words.text = sign
