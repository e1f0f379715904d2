"""The notes of a document as XML elements: one template for each look, copied for each note."""

from __future__ import annotations

from collections.abc import Callable
from copy import copy

from lxml import etree

from cyclechart.theory.spelling import Spelled, Tonic, spell
from cyclechart.theory.tones import dotted
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.lyrics import Lyric
from cyclechart.write.musicxml.notations import (
    add_accidental,
    add_beams,
    add_lyric,
    add_notations,
    add_ratio,
    add_value,
)
from cyclechart.write.musicxml.note_look import NoteLook
from cyclechart.write.musicxml.note_values import FLAGS
from cyclechart.write.musicxml.staff import Accidental, clean_text

MAX_TEMPLATES = 4096

LOWER_STAFF = 2
"""The number of the lower one of two staves."""

KIT_NOTATION: dict[str, tuple[str, int, str]] = {
    "kick": ("F", 4, "normal"), "snare": ("C", 5, "normal"), "ghost": ("C", 5, "normal"),
    "rim": ("C", 5, "x"), "hat": ("G", 5, "x"), "open-hat": ("G", 5, "circle-x"),
    "foot": ("D", 4, "x"), "ride": ("F", 5, "x"), "crash": ("A", 5, "x"),
    "bell": ("F", 5, "diamond"), "high-tom": ("E", 5, "normal"), "mid-tom": ("D", 5, "normal"),
    "low-tom": ("A", 4, "normal"),
}  # fmt: skip
"""The step, octave and note head of each sound of a kit on five lines (common practice of drum set
notation; from memory). A ghost stroke is in parentheses."""


class NoteTemplates:
    """The notes of a document on one Sa. Notes that differ only in their id are copied.

    Copying an element takes a third of the time that building it takes.
    """

    def __init__(
        self,
        tonic: Tonic,
        shift: int = 0,
        middle: tuple[str, int] = ("B", 4),
        lower_middle: tuple[str, int] = ("D", 3),
        name: Callable[[int], str] | None = dotted,
    ) -> None:
        """``shift``: semitones from a tone's sound to where it is written; ``middle``: the step and
        octave of the middle line, ``lower_middle``: those of a second staff; ``name``: gives the
        name under a tone, None for no names."""
        self.tonic = tonic
        self.shift = shift
        self.middle = middle
        self.lower_middle = lower_middle
        self.name = name
        self.templates: dict[NoteLook, Element] = {}
        self.spellings: dict[int, Spelled] = {}

    def note(self, look: NoteLook) -> Element:
        """Return a note of this look, without an id and with no parent."""
        template = self.templates.get(look)
        if template is None:
            template = self.build(look)
            if len(self.templates) >= MAX_TEMPLATES:
                return template
            self.templates[look] = template
        return copy(template)

    def spell(self, pitch: int) -> Spelled:
        """Return the spelling of a pitch over this tonic."""
        spelling = self.spellings.get(pitch)
        if spelling is None:
            spelling = self.spellings[pitch] = spell(self.tonic, pitch + self.shift)
        return spelling

    def build(self, look: NoteLook) -> Element:
        """Return a new note: its children stand in the order of MusicXML's schema."""
        note = etree.Element("note")
        if look.head == "cue":
            _sub(note, "cue")
        self.add_pitch(note, look.value, look.head, look.staff)
        self.add_time_and_head(note, look, look.value, look.accidental)
        add_beams(note, look.beams)
        add_notations(note, look)
        if not look.from_tie:
            self.add_lyrics(note, look)
        return note

    def add_time_and_head(
        self, note: Element, look: NoteLook, value: int | str, accidental: Accidental | None
    ) -> None:
        """Add the children that every note of a chord has: length, ties, value, stem and head."""
        _sub(note, "duration").text = str(look.length)
        if look.head != "cue":
            if look.from_tie:
                _sub(note, "tie", type="stop")
            if look.to_tie:
                _sub(note, "tie", type="start")
        if look.voice:
            _sub(note, "voice").text = look.voice
        add_value(note, look.type, look.dots)
        if accidental is not None:
            add_accidental(note, accidental)
        add_ratio(note, look.type, look.tuplet)
        _add_stem_and_head(note, look, value)
        if look.staff:
            _sub(note, "staff").text = str(look.staff)

    def chord(self, look: NoteLook) -> list[Element]:
        """Return the other notes of a chord, or the other strokes struck with the first."""
        notes = []
        for value, accidental in look.also:
            note = etree.Element("note")
            _sub(note, "chord")
            self.add_pitch(note, value, look.head, look.staff)
            self.add_time_and_head(note, look, value, accidental)
            if look.from_tie or look.to_tie:
                notations = _sub(note, "notations")
                for tied, kind in ((look.from_tie, "stop"), (look.to_tie, "start")):
                    if tied:
                        _sub(notations, "tied", type=kind)
            notes.append(note)
        return notes

    def add_lyrics(self, note: Element, look: NoteLook) -> None:
        """Add the texts under a note: its name in verse one, its sung syllables in those after
        it."""
        name = self.name_under(look)
        if look.graces and name:  # a lyric of its own under a grace note breaks the engraving
            name = f"({look.graces}) {name}"
        if name:
            add_lyric(note, "1", Lyric("single", clean_text(name), ""))
        for number, lyric in enumerate(look.marks.lyrics, start=2):
            if lyric is not None:
                add_lyric(note, str(number), lyric)

    def name_under(self, look: NoteLook) -> str:
        """Return the name of the tone or stroke that stands under a note; "" for none."""
        if look.under is not None:
            return " ".join(filter(None, map(self.name_of, look.under)))
        return self.name_of(look.value)

    def name_of(self, value: int | str) -> str:
        """Return the name of one tone or stroke; "" for none."""
        if isinstance(value, str):
            return value
        return self.name(value) if self.name is not None else ""

    def add_pitch(self, note: Element, value: int | str, head: str = "", staff: int = 0) -> None:
        """Add the pitch of a tone, or the place of a stroke on its line."""
        if isinstance(value, str):
            step, octave = ("E", 4) if not head else self.middle
            if staff == LOWER_STAFF:
                step, octave = self.lower_middle
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


def _add_stem_and_head(note: Element, look: NoteLook, value: int | str) -> None:
    """Add the stem and the head of a slash, a cue or a stroke; a tone's are left to the reader."""
    head = look.head
    if head == "slash":
        # Without a stem it is a beat; a part of a beat has its stem and flags.
        _sub(note, "stem").text = "up" if FLAGS[look.type] or look.dots else "none"
        _sub(note, "notehead").text = "slash"
    elif head == "rhythm":
        _sub(note, "stem").text = "up"
        _sub(note, "notehead").text = "slash"
    elif isinstance(value, str):
        # Stems up, away from the syllables under the line; a drummer's feet have them down.
        _sub(note, "stem").text = look.stem or "up"
        if head == "cue":
            return
        notehead = _sub(note, "notehead")
        notehead.text = KIT_NOTATION[value][2] if value in KIT_NOTATION else "x"
        if value == "ghost":
            notehead.set("parentheses", "yes")
