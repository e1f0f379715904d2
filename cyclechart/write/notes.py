"""The notes of a strain as MusicXML: pitch or stroke, time, ties, beams, signs and syllables."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from typing import Literal, NamedTuple

from lxml import etree

from cyclechart.arrange.sheet import Strain
from cyclechart.piece.model import Note
from cyclechart.theory.spelling import Spelled, Tonic, spell
from cyclechart.theory.tones import dotted
from cyclechart.write.brackets import Brackets
from cyclechart.write.dress import PLAIN, Dress, dresses_of, part_of
from cyclechart.write.rhythm import Piece, spell_measure
from cyclechart.write.staff import Accidentals, Filled, Sign, Sung, clean
from cyclechart.write.tuplets import Tuplet

Element = etree._Element
_sub = etree.SubElement

MAX_TEMPLATES = 4096

_ACCIDENTALS = {-1: "flat", 0: "natural", 1: "sharp"}
_ORNAMENTS = {"mordent": "mordent", "trill": "trill-mark"}
_ARTICULATIONS = ("accent", "staccato", "tenuto")
_DYNAMICS = ("pp", "p", "mp", "mf", "f", "ff")
_WORDS = {"gamak": "gam."}
"""Marks that the staff has no sign for, said in words."""


class Look(NamedTuple):
    """All that tells one written note from another but its id: the key of its template."""

    value: int | str
    sign: Sign | None
    length: int
    type: str
    dots: int
    tuplet: Tuplet | None
    opens: bool
    closes: bool
    from_tie: bool
    to_tie: bool
    beams: tuple[str, ...]
    dress: Dress
    graces: str = ""


class Templates:
    """Notes of a document that are alike but for their id are copied, not built again.

    Copying an element takes a third of the time that building it takes.
    """

    def __init__(self, tonic: Tonic) -> None:
        self.tonic = tonic
        self.made: dict[Look, Element] = {}
        self.spelled: dict[int, Spelled] = {}

    def note(self, look: Look) -> Element:
        """A note of this look, without an id and with no parent."""
        made = self.made.get(look)
        if made is None:
            made = self.build(look)
            if len(self.made) >= MAX_TEMPLATES:
                return made
            self.made[look] = made
        return copy(made)

    def spell(self, pitch: int) -> Spelled:
        """A pitch as it is written over this tonic."""
        found = self.spelled.get(pitch)
        if found is None:
            found = self.spelled[pitch] = spell(self.tonic, pitch)
        return found

    def build(self, look: Look) -> Element:
        """A note's element: the children in the order of MusicXML's schema."""
        note = etree.Element("note")
        self.tone(note, look.value)
        _sub(note, "duration").text = str(look.length)
        if look.from_tie:
            _sub(note, "tie", type="stop")
        if look.to_tie:
            _sub(note, "tie", type="start")
        _add_value(note, look.type, look.dots)
        if look.sign is not None:
            _add_sign(note, look.sign)
        _add_ratio(note, look.type, look.tuplet)
        if isinstance(look.value, str):
            # Stems up, away from the syllables under the line.
            _sub(note, "stem").text = "up"
            _sub(note, "notehead").text = "x"
        _add_beams(note, look.beams)
        _add_notations(note, look)
        if not look.from_tie:
            syllable = _syllable(look.value)
            if look.graces:  # one with a syllable of its own, in a beam, breaks the engraving
                syllable = f"({look.graces}) {syllable}"
            _add_lyric(note, "1", Sung("single", clean(syllable), ""))
            if look.dress.word is not None:
                _add_lyric(note, "2", look.dress.word)
        return note

    def tone(self, note: Element, value: int | str) -> None:
        """The pitch, or the place of a stroke on its line."""
        if isinstance(value, str):
            unpitched = _sub(note, "unpitched")
            _sub(unpitched, "display-step").text = "E"
            _sub(unpitched, "display-octave").text = "4"
            return
        spelled = self.spell(value)
        pitch = _sub(note, "pitch")
        _sub(pitch, "step").text = spelled.step
        if spelled.alter:
            _sub(pitch, "alter").text = str(spelled.alter)
        _sub(pitch, "octave").text = str(spelled.octave)


class NoteWriter:
    """Writes the notes of one strain, measure after measure."""

    def __init__(self, strain: Strain, templates: Templates, *, brackets: bool) -> None:
        self.name = f"n-{strain.letter}-"
        self.notes = strain.notes
        self.templates = templates
        self.accidentals = Accidentals(strain.key.fifths)
        self.dresses = dict(dresses_of(strain.notes))
        self.brackets = Brackets(strain.spans if brackets else ())
        self.piece_number = 1

    def write(self, measure: Element, filled: Filled, beat: int, silence: Silence) -> None:
        """The notes and rests of the next measure, at ``beat`` ticks a beat."""
        self.accidentals.next_measure()
        if filled.rests == (True,):
            add_silence(measure, filled, beat, silence)
            return
        pieces = spell_measure(beat, filled.length, filled.lead, filled.bounds, filled.rests)
        spans = len(filled.indices) - 1
        for piece in pieces:
            index = filled.indices[piece.span]
            if index < 0:
                _add_rest(measure, piece)
                continue
            from_tie = piece.from_tie or (piece.span == 0 and filled.held_in)
            to_tie = piece.to_tie or (piece.span == spans and filled.held_out)
            self.piece(measure, piece, index, from_tie, to_tie)

    def piece(
        self, measure: Element, piece: Piece, index: int, from_tie: bool, to_tie: bool
    ) -> None:
        """One written note: a whole note of the strain, or one of those tied to it."""
        note = self.notes[index]
        value: int | str = note.syllable if note.pitch is None else note.pitch
        dress = self.dresses.get(index, PLAIN)
        graces = ""
        if from_tie:
            self.piece_number += 1
            sign = None
            if not piece.from_tie:
                self.hold(value)
        else:
            self.piece_number = 1
            self.brackets.open(measure, index)
            if dress is not PLAIN or note.grace:
                _add_directions(measure, dress.marks)
                self.graces(measure, note, index)
                graces = _run_of(note.grace)
            sign = self.sign(value)
        if dress is not PLAIN and (from_tie or to_tie):
            dress = part_of(dress, from_tie, to_tie)
        element = self.templates.note(
            Look(
                value, sign, piece.length, piece.type, piece.dots, piece.tuplet,
                piece.opens, piece.closes, from_tie, to_tie, piece.beams, dress, graces,
            )
        )  # fmt: skip
        name = f"{self.name}{index}"
        element.set("id", f"{name}-{self.piece_number}" if from_tie else name)
        measure.append(element)
        if not to_tie:
            self.brackets.close(measure, index)

    def sign(self, value: int | str) -> Sign | None:
        """The accidental that a struck note prints."""
        if isinstance(value, str):
            return None
        spelled = self.templates.spell(value)
        return self.accidentals.sign(spelled.step, spelled.octave, spelled.alter)

    def hold(self, value: int | str) -> None:
        """A note goes on from the measure before."""
        if isinstance(value, int):
            spelled = self.templates.spell(value)
            self.accidentals.hold(spelled.step, spelled.octave, spelled.alter)

    def graces(self, measure: Element, note: Note, index: int) -> None:
        """Grace notes before their note: one is slashed, several are beamed."""
        last = len(note.grace) - 1
        for number, value in enumerate(note.grace):
            grace = _sub(measure, "note", id=f"{self.name}{index}-g{number + 1}")
            _sub(grace, "grace", slash="no" if last else "yes")
            self.templates.tone(grace, value)
            _add_value(grace, "16th" if last else "eighth", 0)
            sign = self.sign(value)
            if sign is not None:
                _add_sign(grace, sign)
            if isinstance(value, str):
                _sub(grace, "stem").text = "up"
                _sub(grace, "notehead").text = "x"
            if last:
                word = "begin" if number == 0 else "end" if number == last else "continue"
                _add_beams(grace, (word, word))


Silence = Literal["measure", "values", "halves"]
"""A silent measure: a measure rest; rests in values; or these with no lone whole rest, which some
readers take for a measure rest as long as the time signature says."""


def add_silence(measure: Element, filled: Filled, beat: int, silence: Silence) -> None:
    """A measure of rests, whatever another part plays in it."""
    length = filled.length
    ends: tuple[int, ...] = (0, length)
    if silence == "halves" and length == 4 * beat and not filled.lead:
        ends = (0, 2 * beat, length)
    rests = (True,) * (len(ends) - 1)
    for piece in spell_measure(beat, length, filled.lead, ends, rests, silence == "measure"):
        _add_rest(measure, piece)


def _syllable(value: int | str) -> str:
    return value if isinstance(value, str) else dotted(value)


def _run_of(graces: Sequence[int | str]) -> str:
    """The syllables of grace notes, as one writes them: strokes with points between."""
    joint = "." if any(isinstance(value, str) for value in graces) else ""
    return joint.join(map(_syllable, graces))


def _add_rest(measure: Element, piece: Piece) -> None:
    note = _sub(measure, "note")
    if not piece.type:
        _sub(note, "rest", measure="yes")
        _sub(note, "duration").text = str(piece.length)
        return
    _sub(note, "rest")
    _sub(note, "duration").text = str(piece.length)
    _add_value(note, piece.type, piece.dots)
    _add_ratio(note, piece.type, piece.tuplet)
    if piece.opens or piece.closes:
        _add_tuplet(_sub(note, "notations"), piece.tuplet, piece.opens, piece.closes)


def _add_value(note: Element, name: str, dots: int) -> None:
    _sub(note, "type").text = name
    for _ in range(dots):
        _sub(note, "dot")


def _add_sign(note: Element, sign: Sign) -> None:
    accidental = _sub(note, "accidental")
    accidental.text = _ACCIDENTALS[sign.alter]
    if sign.reminds:
        accidental.set("parentheses", "yes")


def _add_ratio(note: Element, name: str, tuplet: Tuplet | None) -> None:
    if tuplet is None:
        return
    ratio = _sub(note, "time-modification")
    _sub(ratio, "actual-notes").text = str(tuplet.actual)
    _sub(ratio, "normal-notes").text = str(tuplet.normal)
    if tuplet.unit != name:
        _sub(ratio, "normal-type").text = tuplet.unit


def _add_beams(note: Element, beams: tuple[str, ...]) -> None:
    for number, word in enumerate(beams, start=1):
        _sub(note, "beam", number=str(number)).text = word


def _add_notations(note: Element, look: Look) -> None:
    dress = look.dress
    if dress == PLAIN and not (look.from_tie or look.to_tie or look.opens or look.closes):
        return
    notations = etree.Element("notations")
    if look.from_tie:
        _sub(notations, "tied", type="stop")
    if look.to_tie:
        _sub(notations, "tied", type="start")
    if look.opens or look.closes:
        _add_tuplet(notations, look.tuplet, look.opens, look.closes)
    if dress.from_slide:
        _sub(notations, "slide", {"type": "stop", "line-type": "solid", "number": "1"})
    if dress.to_slide:
        _sub(notations, "slide", {"type": "start", "line-type": "solid", "number": "1"})
    if dress.marks or dress.last:
        _add_marks(notations, dress)
    if len(notations):
        note.append(notations)


def _add_tuplet(notations: Element, tuplet: Tuplet | None, opens: bool, closes: bool) -> None:
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


def _add_marks(notations: Element, dress: Dress) -> None:
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


def _add_directions(measure: Element, marks: tuple[str, ...]) -> None:
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


def _add_lyric(note: Element, number: str, word: Sung) -> None:
    lyric = _sub(note, "lyric", number=number)
    if word.syllabic:
        _sub(lyric, "syllabic").text = word.syllabic
        _sub(lyric, "text").text = word.text
    if word.extend:
        _sub(lyric, "extend", type=word.extend)
