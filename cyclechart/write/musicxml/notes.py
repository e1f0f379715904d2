"""The notes of a strain as MusicXML: pitch or stroke, time, ties, beams, signs and syllables."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import copy
from typing import Literal

from lxml import etree

from cyclechart.arrange.part_notes import Written
from cyclechart.arrange.sheet.model import Strain
from cyclechart.piece.model import Note
from cyclechart.theory.spelling import Spelled, Tonic, spell
from cyclechart.theory.tones import dotted
from cyclechart.write.musicxml.brackets import BracketWriter
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.notations import (
    add_beams,
    add_directions,
    add_lyric,
    add_notations,
    add_ratio,
    add_sign,
    add_tuplet,
    add_value,
    add_words,
)
from cyclechart.write.musicxml.note_ids import NoteIds, written_values
from cyclechart.write.musicxml.note_look import NoteLook
from cyclechart.write.musicxml.note_marks import NO_MARKS, marks_by_note, marks_of_tied
from cyclechart.write.musicxml.rhythm import WrittenValue, spell_measure
from cyclechart.write.musicxml.staff import (
    Accidental,
    Accidentals,
    Lyric,
    MeasureContent,
    clean_text,
)

MAX_TEMPLATES = 4096


KIT_NOTATION: dict[str, tuple[str, int, str]] = {
    "kick": ("F", 4, "normal"), "snare": ("C", 5, "normal"), "ghost": ("C", 5, "normal"),
    "rim": ("C", 5, "x"), "hat": ("G", 5, "x"), "open-hat": ("G", 5, "circle-x"),
    "foot": ("D", 4, "x"), "ride": ("F", 5, "x"), "crash": ("A", 5, "x"),
}  # fmt: skip
"""Where a kit's sounds stand on five lines, and with which head (common practice of drum set
notation; from memory). A ghost stroke is in parentheses."""


class NoteTemplates:
    """Notes of a document that are alike but for their id are copied, not built again.

    Copying an element takes a third of the time that building it takes.
    """

    def __init__(
        self,
        tonic: Tonic,
        shift: int = 0,
        middle: tuple[str, int] = ("B", 4),
        name: Callable[[int], str] | None = dotted,
    ) -> None:
        """``shift``: semitones from a tone above Sa to where it is written; ``middle``: the step
        and octave of the middle line; ``name``: of a tone for the reader, None for none."""
        self.tonic = tonic
        self.shift = shift
        self.middle = middle
        self.name = name
        self.made: dict[NoteLook, Element] = {}
        self.spelled: dict[int, Spelled] = {}

    def note(self, look: NoteLook) -> Element:
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
            found = self.spelled[pitch] = spell(self.tonic, pitch + self.shift)
        return found

    def build(self, look: NoteLook) -> Element:
        """A note's element: the children in the order of MusicXML's schema."""
        note = etree.Element("note")
        if look.head == "cue":
            _sub(note, "cue")
        self.tone(note, look.value, look.head)
        self.timed(note, look, look.value, look.sign)
        add_beams(note, look.beams)
        add_notations(note, look)
        if not look.from_tie:
            self.named(note, look)
        return note

    def timed(
        self, note: Element, look: NoteLook, value: int | str, sign: Accidental | None
    ) -> None:
        """What a note and the others of its chord have alike: length, ties, value, head."""
        _sub(note, "duration").text = str(look.length)
        if look.head != "cue":
            if look.from_tie:
                _sub(note, "tie", type="stop")
            if look.to_tie:
                _sub(note, "tie", type="start")
        add_value(note, look.type, look.dots)
        if sign is not None:
            add_sign(note, sign)
        add_ratio(note, look.type, look.tuplet)
        if look.head == "slash":
            _sub(note, "stem").text = "none"
            _sub(note, "notehead").text = "slash"
        elif look.head == "cue" and isinstance(value, str):
            _sub(note, "stem").text = "up"
        elif isinstance(value, str):
            # Stems up, away from the syllables under the line.
            _sub(note, "stem").text = "up"
            head = _sub(note, "notehead")
            head.text = KIT_NOTATION[value][2] if value in KIT_NOTATION else "x"
            if value == "ghost":
                head.set("parentheses", "yes")

    def chord(self, look: NoteLook) -> list[Element]:
        """The further notes of a chord, or further strokes at once."""
        notes = []
        for value, sign in look.also:
            note = etree.Element("note")
            _sub(note, "chord")
            self.tone(note, value, look.head)
            self.timed(note, look, value, sign)
            if look.from_tie or look.to_tie:
                notations = _sub(note, "notations")
                for ties, kind in ((look.from_tie, "stop"), (look.to_tie, "start")):
                    if ties:
                        _sub(notations, "tied", type=kind)
            notes.append(note)
        return notes

    def named(self, note: Element, look: NoteLook) -> None:
        """What stands under a note: the tone's name, or the stroke's, and a sung syllable."""
        syllable = self.syllable(look)
        if look.graces and syllable:  # one with a syllable of its own breaks the engraving
            syllable = f"({look.graces}) {syllable}"
        if syllable:
            add_lyric(note, "1", Lyric("single", clean_text(syllable), ""))
        if look.dress.word is not None:
            add_lyric(note, "2", look.dress.word)

    def syllable(self, look: NoteLook) -> str:
        """The tone's name, or the stroke's; "" for none."""
        if look.under is not None:
            return " ".join(map(self.name, look.under)) if self.name is not None else ""
        return self.called(look.value)

    def called(self, value: int | str) -> str:
        """One tone or stroke by its name."""
        if isinstance(value, str):
            return value
        return self.name(value) if self.name is not None else ""

    def tone(self, note: Element, value: int | str, head: str = "") -> None:
        """The pitch, or the place of a stroke on its line."""
        if isinstance(value, str):
            step, octave = ("E", 4) if not head else self.middle
            if value in KIT_NOTATION:
                step, octave, _ = KIT_NOTATION[value]
            unpitched = _sub(note, "unpitched")
            _sub(unpitched, "display-step").text = step
            _sub(unpitched, "display-octave").text = str(octave)
            return
        spelled = self.spell(value)
        pitch = _sub(note, "pitch")
        _sub(pitch, "step").text = spelled.step
        if spelled.alter:
            _sub(pitch, "alter").text = str(spelled.alter)
        _sub(pitch, "octave").text = str(spelled.octave)


class NoteWriter:
    """Writes the notes of one strain, measure after measure."""

    def __init__(
        self, strain: Strain, templates: NoteTemplates, *, brackets: bool, part: int = 0
    ) -> None:
        """``part``: the number of the part in a score, 0 where there is one alone."""
        self.ids = NoteIds(strain.letter, part)
        self.notes = strain.notes
        self.templates = templates
        self.accidentals = Accidentals(strain.key)
        self.dresses = dict(marks_by_note(strain.notes))
        self.brackets = BracketWriter(strain.spans if brackets else ())
        self.engraved = not brackets

    def write(
        self, measure: Element, filled: MeasureContent, beat: int, silence: RestStyle
    ) -> None:
        """The notes and rests of the next measure, at ``beat`` ticks a beat."""
        self.accidentals.next_measure()
        if filled.rests == (True,):
            add_rests(measure, filled, beat, silence)
            return
        spans = len(filled.indices) - 1
        for piece, index in written_values(filled, beat):
            if index < 0:
                _add_rest(measure, piece)
                continue
            from_tie = piece.from_tie or (piece.span == 0 and filled.held_in)
            to_tie = piece.to_tie or (piece.span == spans and filled.held_out)
            self.piece(measure, piece, index, from_tie, to_tie)

    def piece(
        self, measure: Element, piece: WrittenValue, index: int, from_tie: bool, to_tie: bool
    ) -> None:
        """One written note: a whole note of the strain, or one of those tied to it."""
        note = self.notes[index]
        value: int | str = note.syllable if note.pitch is None else note.pitch
        dress = self.dresses.get(index, NO_MARKS)
        name = self.ids.next(index)
        begins = self.ids.number == 1
        more = note if isinstance(note, Written) else None
        rings = False
        if more is not None and begins and more.tied_in and not self.engraved:
            from_tie = True
        if more is not None and not to_tie and more.tied_out:
            to_tie, rings = not self.engraved, self.engraved
        graces = ""
        also: tuple[tuple[int | str, Accidental | None], ...] = ()
        if begins:
            self.brackets.open(measure, index)
            if more is not None and more.says:
                add_words(measure, clean_text(more.says))
            if dress is not NO_MARKS or note.grace:
                add_directions(measure, dress.marks)
                self.graces(measure, note, index)
                graces = self.run_of(note.grace)
        if from_tie:
            sign = None
            if not piece.from_tie:
                self.hold(value)
            if more is not None and more.also:
                also = tuple((other, None) for other in more.also)
        else:
            sign = self.sign(value)
            if more is not None and more.also:
                also = tuple((other, self.sign(other)) for other in more.also)
        if dress is not NO_MARKS and (from_tie or to_tie):
            dress = marks_of_tied(dress, from_tie, to_tie)
        look = NoteLook(
            value, sign, piece.length, piece.type, piece.dots, piece.tuplet,
            piece.opens, piece.closes, from_tie, to_tie, piece.beams, dress, graces,
        )  # fmt: skip
        if more is not None:
            under = () if more.tied_in and begins else more.under
            look = look._replace(also=also, head=more.head, under=under, rings=rings)
        element = self.templates.note(look)
        element.set("id", name)
        measure.append(element)
        for other in self.templates.chord(look) if also else ():
            measure.append(other)
        if not to_tie:
            self.brackets.close(measure, index)

    def run_of(self, graces: Sequence[int | str]) -> str:
        """The syllables of grace notes, as one writes them: strokes with points between."""
        joint = "." if any(isinstance(value, str) for value in graces) else ""
        return joint.join(map(self.templates.called, graces))

    def sign(self, value: int | str) -> Accidental | None:
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
            grace = _sub(measure, "note", id=self.ids.grace(index, number + 1))
            _sub(grace, "grace", slash="no" if last else "yes")
            self.templates.tone(grace, value)
            add_value(grace, "16th" if last else "eighth", 0)
            sign = self.sign(value)
            if sign is not None:
                add_sign(grace, sign)
            if isinstance(value, str):
                _sub(grace, "stem").text = "up"
                _sub(grace, "notehead").text = "x"
            if last:
                word = "begin" if number == 0 else "end" if number == last else "continue"
                add_beams(grace, (word, word))


RestStyle = Literal["measure", "values", "halves"]
"""A silent measure: a measure rest; rests in values; or these with no lone whole rest, which some
readers take for a measure rest as long as the time signature says."""


def add_rests(measure: Element, filled: MeasureContent, beat: int, silence: RestStyle) -> None:
    """A measure of rests, whatever another part plays in it."""
    length = filled.length
    ends: tuple[int, ...] = (0, length)
    if silence == "halves" and length == 4 * beat and not filled.lead:
        ends = (0, 2 * beat, length)
    rests = (True,) * (len(ends) - 1)
    for piece in spell_measure(beat, length, filled.lead, ends, rests, silence == "measure"):
        _add_rest(measure, piece)


def _add_rest(measure: Element, piece: WrittenValue) -> None:
    note = _sub(measure, "note")
    if not piece.type:
        _sub(note, "rest", measure="yes")
        _sub(note, "duration").text = str(piece.length)
        return
    _sub(note, "rest")
    _sub(note, "duration").text = str(piece.length)
    add_value(note, piece.type, piece.dots)
    add_ratio(note, piece.type, piece.tuplet)
    if piece.opens or piece.closes:
        add_tuplet(_sub(note, "notations"), piece.tuplet, piece.opens, piece.closes)
