"""What a written note carries in MusicXML: value, accidental, ratio, beams, notations, lyrics."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lxml import etree

from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.note_marks import NO_MARKS, NoteMarks
from cyclechart.write.musicxml.staff import Accidental, Lyric
from cyclechart.write.musicxml.tuplets import Tuplet

if TYPE_CHECKING:
    from cyclechart.write.musicxml.note_look import NoteLook


_ACCIDENTALS = {-1: "flat", 0: "natural", 1: "sharp"}
_ORNAMENTS = {"mordent": "mordent", "trill": "trill-mark"}
_ARTICULATIONS = ("accent", "staccato", "tenuto")
_DYNAMICS = ("pp", "p", "mp", "mf", "f", "ff")
_WORDS = {"gamak": "gam."}
"""Marks that the staff has no sign for, said in words."""


def add_value(note: Element, name: str, dots: int) -> None:
    """Its note value and dots."""
    _sub(note, "type").text = name
    for _ in range(dots):
        _sub(note, "dot")


def add_sign(note: Element, sign: Accidental) -> None:
    """Its accidental."""
    accidental = _sub(note, "accidental")
    accidental.text = _ACCIDENTALS[sign.alter]
    if sign.reminds:
        accidental.set("parentheses", "yes")


def add_ratio(note: Element, name: str, tuplet: Tuplet | None) -> None:
    """The ratio of the tuplet that it is in."""
    if tuplet is None:
        return
    ratio = _sub(note, "time-modification")
    _sub(ratio, "actual-notes").text = str(tuplet.actual)
    _sub(ratio, "normal-notes").text = str(tuplet.normal)
    if tuplet.unit != name:
        _sub(ratio, "normal-type").text = tuplet.unit


def add_beams(note: Element, beams: tuple[str, ...]) -> None:
    """Its beams, from the first on."""
    for number, word in enumerate(beams, start=1):
        _sub(note, "beam", number=str(number)).text = word


def add_notations(note: Element, look: NoteLook) -> None:
    """Ties, tuplet brackets, slides and marks."""
    dress = look.dress
    ties = look.from_tie or look.to_tie or look.rings
    if dress == NO_MARKS and not (ties or look.opens or look.closes):
        return
    notations = etree.Element("notations")
    if look.from_tie:
        _sub(notations, "tied", type="stop")
    if look.to_tie:
        _sub(notations, "tied", type="start")
    elif look.rings:
        _sub(notations, "tied", type="let-ring")
    if look.opens or look.closes:
        add_tuplet(notations, look.tuplet, look.opens, look.closes)
    if dress.from_slide:
        _sub(notations, "slide", {"type": "stop", "line-type": "solid", "number": "1"})
    if dress.to_slide:
        _sub(notations, "slide", {"type": "start", "line-type": "solid", "number": "1"})
    if dress.marks or dress.last:
        add_marks(notations, dress)
    if len(notations):
        note.append(notations)


def add_tuplet(notations: Element, tuplet: Tuplet | None, opens: bool, closes: bool) -> None:
    """Where a tuplet begins or ends, with its number."""
    if tuplet is None:
        return
    if opens:
        start = _sub(notations, "tuplet", type="start", number="1")
        start.set("bracket", "yes" if tuplet.bracket else "no")
        start.set("placement", "above")
        # Five in the time of three says both, for a reader takes four for granted.
        if tuplet.normal & (tuplet.normal - 1) or 2 * tuplet.normal <= tuplet.actual:
            start.set("show-number", "both")
    if closes:
        _sub(notations, "tuplet", type="stop", number="1")


def add_marks(notations: Element, dress: NoteMarks) -> None:
    """Ornaments, articulations, a fermata."""
    ornaments = etree.Element("ornaments")
    articulations = etree.Element("articulations")
    for mark in dress.marks:
        if mark in _ORNAMENTS:
            _sub(ornaments, _ORNAMENTS[mark])
        elif mark in _ARTICULATIONS:
            _sub(articulations, mark)
    if "andolan" in dress.marks:
        _sub(ornaments, "wavy-line", type="start", number="1")
    if "andolan" in dress.last:
        _sub(ornaments, "wavy-line", type="stop", number="1")
    if len(ornaments):
        notations.append(ornaments)
    if len(articulations):
        notations.append(articulations)
    if "fermata" in dress.last:
        _sub(notations, "fermata", type="upright")


def add_directions(measure: Element, marks: tuple[str, ...]) -> None:
    """Dynamics and words, which stand beside the note."""
    for mark in marks:
        if mark in _DYNAMICS:
            direction = _sub(measure, "direction", placement="below")
            _sub(_sub(_sub(direction, "direction-type"), "dynamics"), mark)
        elif mark in _WORDS:
            # Above, it would be printed over a clap's sign that something lifts.
            direction = _sub(measure, "direction", placement="below")
            words = _sub(_sub(direction, "direction-type"), "words")
            words.set("font-style", "italic")
            words.set("font-size", "8")
            words.text = _WORDS[mark]


def add_words(measure: Element, text: str) -> None:
    """A text over what comes next."""
    direction = _sub(measure, "direction", placement="above")
    words = _sub(_sub(direction, "direction-type"), "words")
    words.set("font-style", "italic")
    words.text = text


def add_lyric(note: Element, number: str, word: Lyric) -> None:
    """A syllable under it, in verse ``number``."""
    lyric = _sub(note, "lyric", number=number)
    if word.syllabic:
        _sub(lyric, "syllabic").text = word.syllabic
        _sub(lyric, "text").text = word.text
    if word.extend:
        _sub(lyric, "extend", type=word.extend)
