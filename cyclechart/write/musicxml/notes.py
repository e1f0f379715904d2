"""The notes and rests of a strain as MusicXML, measure after measure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from cyclechart.arrange.part_notes import PartNote
from cyclechart.arrange.sheet.model import Strain
from cyclechart.piece.note import Note
from cyclechart.write.musicxml.brackets import BracketWriter
from cyclechart.write.musicxml.chord_symbols import add_chord_symbol
from cyclechart.write.musicxml.cue_rests import CueRest, cue_rest, is_high_cue
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.hairpins import HairpinWriter
from cyclechart.write.musicxml.measure_contents import MeasureContent, silent_content
from cyclechart.write.musicxml.notations import (
    add_accidental,
    add_beams,
    add_directions,
    add_ratio,
    add_tuplet,
    add_value,
    add_words,
)
from cyclechart.write.musicxml.note_ids import NoteIds, written_values
from cyclechart.write.musicxml.note_layers import LayerPlan, NoteLayers, add_lower_rests
from cyclechart.write.musicxml.note_look import NoteLook
from cyclechart.write.musicxml.note_marks import NO_MARKS, NoteMarks, marks_by_note, marks_of_tied
from cyclechart.write.musicxml.note_templates import KIT_NOTATION, NoteTemplates
from cyclechart.write.musicxml.rhythm import WrittenValue, spell_measure
from cyclechart.write.musicxml.staff import Accidental, Accidentals, clean_text

_ChordNotes = tuple[tuple[int | str, Accidental | None], ...]
"""The other notes of a chord, each with its accidental."""


class NoteWriter:
    """Writes the notes of one strain, measure after measure."""

    def __init__(
        self,
        strain: Strain,
        templates: NoteTemplates,
        *,
        brackets: bool,
        part: int = 0,
        layers: LayerPlan | None = None,
        middle: tuple[str, int] = ("B", 4),
    ) -> None:
        """``brackets``: write brackets over the notes (published scores only; the engraver adds its
        own); ``part``: the number of the part in a score, 0 where there is one alone; ``layers``:
        the two layers that the notes are written in, None for one; ``middle``: the step and octave
        of the middle line."""
        self.ids = NoteIds(strain.letter, part)
        self.notes = strain.notes
        self.templates = templates
        self.accidentals = Accidentals(strain.key)
        self.marks = dict(marks_by_note(strain.notes))
        self.brackets = BracketWriter(strain.brackets if brackets else ())
        self.hairpins = HairpinWriter(strain.notes)
        self.engraved = not brackets
        self.layers = NoteLayers(layers, templates) if layers is not None else None
        self.middle = middle
        self.tonic = strain.key.tonic
        self.two_staves = layers is not None and layers.staves > 1
        self.cue_is_high: bool | None = None
        """Whether the cue of the strain is the upper voice; None until it is asked."""
        self.voice = ""

    def add_measure(
        self, measure: Element, content: MeasureContent, beat: int, rest_style: RestStyle
    ) -> None:
        """Add the notes and rests of the next measure, at ``beat`` ticks a beat."""
        self.accidentals.next_measure()
        if content.rests == (True,):
            add_rests(measure, content, beat, rest_style)
            add_lower_rests(measure, self.layers.plan if self.layers else None)
            return
        last = len(content.indices) - 1
        layers = self.layers
        # In two layers the reader's own rests stand in the other one already.
        cue = self.cue_rest(content) if layers is None else None
        self.voice = cue.cue_voice if cue else ""
        values = tuple(written_values(content, beat))
        if layers is not None:
            layers.begin(values, self.notes, content.lead, beat)
        for value, index in values:
            if index < 0:
                _add_rest(measure, value, self.voice, cue=cue is not None)
                if layers is not None:
                    layers.add_rest(measure[-1], value)
                continue
            from_tie = value.from_tie or (value.span == 0 and content.held_in)
            to_tie = value.to_tie or (value.span == last and content.held_out)
            self.add_note(measure, value, index, from_tie, to_tie)
        if layers is not None:
            layers.end(measure, content.length)
        if cue is not None:
            add_backup(measure, content.length)
            silent = silent_content(content.length, content.section.beats)
            style: RestStyle = "values" if rest_style == "values" else "measure"
            add_rests(measure, silent, beat, style, cue.rest_voice, cue.place)

    def cue_rest(self, content: MeasureContent) -> CueRest | None:
        """Return the reader's own rest in a measure of another player's notes; None elsewhere."""
        spell = self.templates.spell
        tones = [pitch for index in content.indices if (pitch := self.cue_pitch(index)) is not None]
        if not tones:
            return None
        if self.cue_is_high is None:
            pitches = map(self.cue_pitch, range(len(self.notes)))
            whole = [spell(pitch) for pitch in pitches if pitch is not None]
            self.cue_is_high = is_high_cue(whole, self.middle)
        return cue_rest(map(spell, tones), self.middle, is_high=self.cue_is_high)

    def cue_pitch(self, index: int) -> int | None:
        """Return the pitch of the note of an index if it is another player's; else None."""
        note = self.notes[index] if index >= 0 else None
        return note.pitch if isinstance(note, PartNote) and note.head == "cue" else None

    def add_note(
        self, measure: Element, value: WrittenValue, index: int, from_tie: bool, to_tie: bool
    ) -> None:
        """Add one written value: a whole note of the strain, or one of those tied into it."""
        note = self.notes[index]
        marks = self.marks.get(index, NO_MARKS)
        name = self.ids.next(index)
        is_first = self.ids.number == 1
        part_note = note if isinstance(note, PartNote) else None
        rings = False
        if part_note is not None:
            from_tie, to_tie, rings = self.part_ties(part_note, is_first, from_tie, to_tie)
        graces = self.begin_note(measure, note, index, marks) if is_first else ""
        accidental, also = self.accidentals_of(note, value, from_tie)
        if marks is not NO_MARKS and (from_tie or to_tie):
            marks = marks_of_tied(marks, from_tie, to_tie)
        look = NoteLook(
            _tone_or_stroke(note), accidental, value.length, value.type, value.dots, value.tuplet,
            value.opens, value.closes, from_tie, to_tie, value.beams, marks, graces,
        )  # fmt: skip
        if part_note is not None:
            under = () if part_note.tied_in and is_first else part_note.under
            look = look._replace(
                also=also, head=part_note.head, under=under, rings=rings, voice=self.voice
            )
        if self.layers is not None:
            self.layers.add(measure, look, name, value)
        else:
            element = self.templates.note(look)
            element.set("id", name)
            measure.append(element)
            if also:
                measure.extend(self.templates.chord(look))
        if not to_tie:
            self.hairpins.close(measure, index)
            self.brackets.close(measure, index)

    def part_ties(
        self, note: PartNote, is_first: bool, from_tie: bool, to_tie: bool
    ) -> tuple[bool, bool, bool]:
        """Return the ties of a value in a part: from the one before, to the next, ringing on.

        A note may be tied to one that is not written beside it: a published score has a tie there
        without its other end, an engraved strain one that rings on.
        """
        rings = False
        if is_first and note.tied_in and not self.engraved:
            from_tie = True
        if not to_tie and note.tied_out:
            to_tie, rings = not self.engraved, self.engraved
        return from_tie, to_tie, rings

    def begin_note(self, measure: Element, note: Note, index: int, marks: NoteMarks) -> str:
        """Add what comes before a note, and return the text of its grace notes."""
        self.brackets.open(measure, index)
        if note.text:
            add_words(measure, clean_text(note.text))
        if note.chord is not None:
            staff = 1 if self.two_staves else 0
            add_chord_symbol(measure, note.chord, self.tonic, staff=staff, engraved=self.engraved)
        if marks is NO_MARKS and not note.grace:
            return ""
        add_directions(measure, marks.first)
        self.add_graces(measure, note, index)
        self.hairpins.open(measure, index)
        return self.grace_text(note.grace)

    def accidentals_of(
        self, note: Note, value: WrittenValue, from_tie: bool
    ) -> tuple[Accidental | None, _ChordNotes]:
        """Return the accidental of a note, and the other notes of its chord with theirs.

        A value that a tie leads to has none.
        """
        main = _tone_or_stroke(note)
        also = note.also if isinstance(note, PartNote) else ()
        if not from_tie:
            return self.accidental(main), tuple([(one, self.accidental(one)) for one in also])
        if not value.from_tie:
            self.hold(main)
        return None, tuple([(one, None) for one in also])

    def grace_text(self, graces: Sequence[int | str]) -> str:
        """Return the names of grace notes in one text, strokes separated by points."""
        joint = "." if any(isinstance(value, str) for value in graces) else ""
        return joint.join(map(self.templates.name_of, graces))

    def accidental(self, value: int | str) -> Accidental | None:
        """Return the accidental that a struck note prints, None for a stroke."""
        if isinstance(value, str):
            return None
        spelled = self.templates.spell(value)
        return self.accidentals.printed(spelled.step, spelled.octave, spelled.alter)

    def hold(self, value: int | str) -> None:
        """Record the accidental of a tone held from the measure before."""
        if isinstance(value, int):
            spelled = self.templates.spell(value)
            self.accidentals.hold(spelled.step, spelled.octave, spelled.alter)

    def add_graces(self, measure: Element, note: Note, index: int) -> None:
        """Add the grace notes before their note: one is slashed, several are beamed."""
        last = len(note.grace) - 1
        for number, value in enumerate(note.grace):
            grace = _sub(measure, "note", id=self.ids.grace(index, number + 1))
            _sub(grace, "grace", slash="no" if last else "yes")
            self.templates.add_pitch(grace, value)
            add_value(grace, "16th" if last else "eighth", 0)
            accidental = self.accidental(value)
            if accidental is not None:
                add_accidental(grace, accidental)
            if isinstance(value, str):
                _sub(grace, "stem").text = "up"
                _sub(grace, "notehead").text = KIT_NOTATION.get(value, ("", 0, "x"))[2]
            if last:
                word = "begin" if number == 0 else "end" if number == last else "continue"
                add_beams(grace, (word, word))


def _tone_or_stroke(note: Note) -> int | str:
    return note.syllable if note.pitch is None else note.pitch


RestStyle = Literal["measure", "spaced", "values"]
"""The form of a silent measure: a measure rest; one with hidden rests behind it, for the engraver
gives a measure rest no room of its own; or rests in values, with no lone whole rest, which some
readers take for a measure rest as long as the time signature says."""


def add_rests(
    measure: Element,
    content: MeasureContent,
    beat: int,
    style: RestStyle,
    voice: str = "",
    place: tuple[str, int] | None = None,
) -> None:
    """Add the rests of a silent measure, whatever another part plays in it.

    ``place``: the step and octave where they stand, None for the usual place.
    """
    if style == "spaced":
        voice = "1"
    if style != "values":
        _add_rest(measure, WrittenValue(0, content.length, 0, ""), voice, place=place)
    if style == "spaced":
        add_backup(measure, content.length)
    if style != "measure":
        bounds: tuple[int, ...] = (0, content.length)
        if content.length == 4 * beat and not content.lead:
            bounds = (0, 2 * beat, content.length)
        rests = (True,) * (len(bounds) - 1)
        for value in spell_measure(
            beat, content.length, content.lead, bounds, rests, False, content.section
        ):
            hidden = style == "spaced"
            _add_rest(measure, value, "2" if hidden else voice, hidden=hidden, place=place)


def add_backup(measure: Element, length: int) -> None:
    """Add the return by so many ticks to where another voice begins."""
    _sub(_sub(measure, "backup"), "duration").text = str(length)


def _add_rest(
    measure: Element,
    value: WrittenValue,
    voice: str = "",
    *,
    hidden: bool = False,
    cue: bool = False,
    place: tuple[str, int] | None = None,
) -> None:
    note = _sub(measure, "note")
    if hidden:
        note.set("print-object", "no")
    if cue:
        _sub(note, "cue")
    rest = _sub(note, "rest")
    if not value.type:
        rest.set("measure", "yes")
    if place is not None:
        _sub(rest, "display-step").text = place[0]
        _sub(rest, "display-octave").text = str(place[1])
    _sub(note, "duration").text = str(value.length)
    if voice:
        _sub(note, "voice").text = voice
    if not value.type:
        return
    add_value(note, value.type, value.dots)
    add_ratio(note, value.type, value.tuplet)
    if not hidden and (value.opens or value.closes):
        add_tuplet(_sub(note, "notations"), value.tuplet, value.opens, value.closes)
