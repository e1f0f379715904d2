"""The children of a note in MusicXML: value, accidental, ratio, beams, notations, lyrics."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lxml import etree

from cyclechart.text.line_tree import CUT
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.lyrics import Lyric
from cyclechart.write.musicxml.note_marks import NO_MARKS, NoteMarks
from cyclechart.write.musicxml.staff import Accidental
from cyclechart.write.musicxml.tuplets import Tuplet

if TYPE_CHECKING:
    from cyclechart.write.musicxml.note_look import NoteLook


_ACCIDENTALS = {-1: "flat", 0: "natural", 1: "sharp"}
_ORNAMENTS = {"mordent": "mordent", "trill": "trill-mark"}
_ARTICULATIONS = ("accent", "staccato", "tenuto")
_DYNAMICS = ("pp", "p", "mp", "mf", "f", "ff")
_WORDS = {"gamak": "gam.", "plain": "plain"}
"""Marks for which the staff has no sign, and the words for them."""


def add_value(note: Element, name: str, dots: int) -> None:
    """Add the note value and the dots of a note."""
    _sub(note, "type").text = name
    for _ in range(dots):
        _sub(note, "dot")


def add_accidental(note: Element, accidental: Accidental) -> None:
    """Add the accidental of a note."""
    element = _sub(note, "accidental")
    element.text = _ACCIDENTALS[accidental.alter]
    if accidental.is_courtesy:
        element.set("parentheses", "yes")


def add_ratio(note: Element, name: str, tuplet: Tuplet | None) -> None:
    """Add the ratio of the tuplet that a note of value ``name`` is in."""
    if tuplet is None:
        return
    ratio = _sub(note, "time-modification")
    _sub(ratio, "actual-notes").text = str(tuplet.actual)
    _sub(ratio, "normal-notes").text = str(tuplet.normal)
    if tuplet.unit != name:
        _sub(ratio, "normal-type").text = tuplet.unit


def add_beams(note: Element, beams: tuple[str, ...]) -> None:
    """Add the beams of a note, from the first on."""
    for number, word in enumerate(beams, start=1):
        _sub(note, "beam", number=str(number)).text = word


def add_notations(note: Element, look: NoteLook) -> None:
    """Add ties, tuplet brackets, slides, slurs and marks."""
    marks = look.marks
    ties = look.from_tie or look.to_tie or look.rings
    if marks == NO_MARKS and not (ties or look.opens or look.closes):
        return
    notations = etree.Element("notations")
    if look.from_tie:
        _sub(notations, "tied", type="stop")
    if look.to_tie:
        _sub(notations, "tied", type="start")
    elif look.rings:
        _sub(notations, "tied", type="let-ring")
    if look.opens or look.closes:
        add_tuplet(notations, look.tuplet, look.opens, look.closes, quiet=look.quiet_tuplet)
    if marks.slide_stops:
        _sub(notations, "slide", {"type": "stop", "line-type": "solid", "number": "1"})
    if marks.slide_starts:
        _sub(notations, "slide", {"type": "start", "line-type": "solid", "number": "1"})
    if marks.slur_stops:
        _sub(notations, "slur", type="stop", number="1")
    if marks.slur_starts:
        _sub(notations, "slur", type="start", number="1")
    if marks.first or marks.last:
        add_marks(notations, marks)
        if look.voice == "1" and look.under == () and isinstance(look.value, str):
            # Over a kit's hands no names stand: there accents are out of the feet's way.
            for articulation in notations.iterfind("articulations/*"):
                articulation.set("placement", "above")
    if len(notations):
        note.append(notations)


def add_tuplet(
    notations: Element, tuplet: Tuplet | None, opens: bool, closes: bool, *, quiet: bool = False
) -> None:
    """Add the beginning or the end of a tuplet, with its number unless it is ``quiet``."""
    if tuplet is None:
        return
    if opens and quiet:
        _sub(notations, "tuplet", {
            "type": "start", "number": "1", "bracket": "no", "show-number": "none"
        })  # fmt: skip
    elif opens:
        start = _sub(notations, "tuplet", type="start", number="1")
        start.set("bracket", "yes" if tuplet.bracket else "no")
        start.set("placement", "above")
        # Five in the time of three shows both numbers: readers expect five in the time of four.
        if tuplet.normal & (tuplet.normal - 1) or 2 * tuplet.normal <= tuplet.actual:
            start.set("show-number", "both")
    if closes:
        _sub(notations, "tuplet", type="stop", number="1")


def add_marks(notations: Element, marks: NoteMarks) -> None:
    """Add ornaments, articulations and a fermata."""
    ornaments = etree.Element("ornaments")
    articulations = etree.Element("articulations")
    for mark in marks.first:
        if mark in _ORNAMENTS:
            _sub(ornaments, _ORNAMENTS[mark])
        elif mark in _ARTICULATIONS:
            _sub(articulations, mark)
    if CUT in marks.last:
        _sub(articulations, "caesura")
    if "andolan" in marks.first:
        _sub(ornaments, "wavy-line", type="start", number="1")
    if "andolan" in marks.last:
        _sub(ornaments, "wavy-line", type="stop", number="1")
    if len(ornaments):
        notations.append(ornaments)
    if len(articulations):
        notations.append(articulations)
    if "fermata" in marks.last:
        _sub(notations, "fermata", type="upright")


def add_directions(measure: Element, marks: tuple[str, ...]) -> None:
    """Add the dynamics and words that stand beside a note."""
    for mark in marks:
        if mark in _DYNAMICS:
            direction = _sub(measure, "direction", placement="below")
            _sub(_sub(_sub(direction, "direction-type"), "dynamics"), mark)
        elif mark in _WORDS:
            # Above the staff it would be printed over the sign of a clap that was moved up.
            direction = _sub(measure, "direction", placement="below")
            words = _sub(_sub(direction, "direction-type"), "words")
            words.set("font-style", "italic")
            words.set("font-size", "8")
            words.text = _WORDS[mark]


def add_words(measure: Element, text: str) -> None:
    """Add a text over the next note."""
    direction = _sub(measure, "direction", placement="above")
    words = _sub(_sub(direction, "direction-type"), "words")
    words.set("font-style", "italic")
    words.text = text


def add_lyric(note: Element, number: str, word: Lyric) -> None:
    """Add a syllable under a note, in verse ``number``."""
    lyric = _sub(note, "lyric", number=number)
    if word.syllabic:
        _sub(lyric, "syllabic").text = word.syllabic
        _sub(lyric, "text").text = word.text
    if word.extend:
        _sub(lyric, "extend", type=word.extend)
