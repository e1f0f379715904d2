"""The measures of one strain as MusicXML: attributes, signs, notes or rests, barlines."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from lxml import etree

from cyclechart.arrange.sheet.measures import CLOSING, OPENING, Measure
from cyclechart.arrange.sheet.model import Key, Reader, Sheet, Strain
from cyclechart.catalog.instruments import Clef
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.notes import NoteTemplates, NoteWriter, RestStyle, add_rests
from cyclechart.write.musicxml.staff import (
    MeasureContent,
    drone_symbol,
    measure_contents,
    meter_of,
    ticks_per_beat,
)
from cyclechart.write.musicxml.tone_names import full_tone_namer

SIGN_HEIGHT = 25
"""Claps and waves stand in one row, so many tenths of a staff space above the staff."""

CLEFS: dict[Clef, tuple[str, int, int]] = {
    "treble": ("G", 2, 0), "treble-8vb": ("G", 2, -1), "alto": ("C", 3, 0), "tenor": ("C", 4, 0),
    "bass": ("F", 4, 0), "percussion": ("percussion", 0, 0),
}  # fmt: skip
"""Sign, line and octave of each clef."""

MIDDLE_LINE: dict[Clef, tuple[str, int]] = {
    "treble": ("B", 4), "treble-8vb": ("B", 3), "alto": ("C", 4), "tenor": ("A", 3),
    "bass": ("D", 3), "percussion": ("B", 4),
}  # fmt: skip
"""The step and octave that stand on the middle line."""

DIATONIC_STEPS = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
"""Staff steps of an interval of so many semitones, as instruments are said to transpose."""


class PartContext:
    """What the strains of one part of a document share."""

    def __init__(self, sheet: Sheet, strains: tuple[Strain, ...], *, engraved: bool) -> None:
        self.sheet = sheet
        self.beat = ticks_per_beat(strains)
        self.engraved = engraved
        self.templates: dict[Key, NoteTemplates] = {}
        self.last = sheet.strains[-1].letter if sheet.strains else ""

    def templates_for(self, key: Key) -> NoteTemplates:
        """The notes that are alike on one Sa."""
        made = self.templates.get(key)
        if made is None:
            reader = self.sheet.reader
            # MusicXML counts an unpitched note's place by the clef in force; the engraver takes
            # it to be a treble clef always.
            clef = "treble" if self.engraved or reader is None else reader.clef
            middle = MIDDLE_LINE[clef]
            if reader is not None and reader.staff == "strokes":
                middle = ("E", 4)
            made = NoteTemplates(
                key.tonic, key.shift, middle, full_tone_namer(key, self.sheet.names)
            )
            made.spelled.update(key.borrowed)
            self.templates[key] = made
        return made


class StrainWriter:
    """Writes the measures of one strain into a part: its notes, or rests where another plays it.

    ``numbers`` are those of its measures. ``kind`` is the part's; a strain of another is rests.
    ``part``: the number of the part in a score, 0 where there is one alone.
    """

    def __init__(
        self,
        document: PartContext,
        strain: Strain,
        kind: str,
        numbers: tuple[str, ...],
        *,
        opens_part: bool,
        part: int = 0,
    ) -> None:
        self.document = document
        self.strain = strain
        self.kind = kind
        self.opens_part = opens_part
        self.filled: Iterator[MeasureContent] = measure_contents(strain, document.beat)
        self.numbers = numbers
        self.signed = not (document.engraved and part > 1)
        """Whether claps and the drone stand over it: in a score drawn, over its first staff."""
        self.notes: NoteWriter | None = None
        if strain.kind == kind:
            templates = document.templates_for(strain.key)
            self.notes = NoteWriter(strain, templates, brackets=not document.engraved, part=part)

    def measures(
        self,
        *,
        time: bool,
        key: bool,
        breaks: Collection[int] = (),
        heading: Iterable[Element] = (),
    ) -> Iterator[Element]:
        """All of them; ``time`` and ``key`` say whether the first shows them, ``heading`` what
        stands over it, ``breaks`` the indices of those that begin a system."""
        for at, measure in enumerate(self.strain.measures):
            element = self.open(at, measure)
            if at in breaks:
                _sub(element, "print", {"new-system": "yes"})
            self.left(element, at, measure)
            if at == 0:
                self.attributes(element, time=time, key=key)
                element.extend(heading)
            for jump in measure.jumps:
                if jump in OPENING:
                    element.append(_jump_direction(jump))
            if measure.rests:
                yield from self.rest(element, at, measure)
                continue
            self.close(element, at, measure)
            yield element

    def open(self, at: int, measure: Measure) -> Element:
        """The next measure, still empty."""
        element = etree.Element("measure", number=self.numbers[at])
        if self.strain.free or not measure.opens:
            element.set("implicit", "yes")
        return element

    def attributes(self, element: Element, *, time: bool, key: bool = False) -> None:
        """Clef, key and meter, where the part begins or they change."""
        key = (key or self.opens_part) and self.kind == "melody"
        if not self.opens_part and not time and not key:
            return
        attributes = _sub(element, "attributes")
        if self.opens_part:
            _sub(attributes, "divisions").text = str(self.document.beat)
        if key:
            _add_key(attributes, self.strain.key)
        if time:
            self.time(attributes)
        if self.opens_part:
            _add_clef(attributes, self.document.sheet.reader, self.kind)

    def time(self, attributes: Element) -> None:
        """The cycle as an additive time signature; a free line has none."""
        time = _sub(attributes, "time")
        if self.strain.free:
            time.set("print-object", "no")
            _sub(time, "senza-misura")
            return
        for beats, kind in meter_of(self.strain.cycle):
            _sub(time, "beats").text = beats
            _sub(time, "beat-type").text = kind

    def close(self, element: Element, at: int, measure: Measure) -> None:
        """The drone's symbol, the clap or wave, the notes, and the line at the measure's end."""
        document, filled = self.document, next(self.filled)
        # A measure rest in a section that is not the whole cycle is read by some as long as the
        # cycle, and engraved without a place at its beginning for a clap or wave.
        silence: RestStyle = "values" if document.engraved else "halves"
        if measure.length == self.strain.cycle.beats and not document.engraved:
            silence = "measure"
        if self.notes is None:
            add_rests(element, filled, document.beat, silence)
        else:
            if at == 0 and self.kind == "melody" and self.strain.drone and self.signed:
                _add_drone(element, self.strain.key, document.engraved)
            if measure.sign and not self.strain.free and self.signed:
                _add_clap(element, measure.sign, measure.opens)
            self.notes.write(element, filled, document.beat, silence)
        self.right(element, at, measure)

    def rest(self, element: Element, at: int, measure: Measure) -> Iterator[Element]:
        """Whole cycles of rest, a measure each, to be shown as one; the last may be cut off."""
        beats = self.strain.cycle.beats
        next(self.filled)
        if measure.rests > 1:
            style = etree.Element("measure-style")
            _sub(style, "multiple-rest").text = str(measure.rests)
            # In attributes of its own: beside a clef the engraver would draw that twice.
            _sub(element, "attributes").append(style)
        left = measure.length
        for number in range(measure.rests):
            if number:
                name = str(measure.cycle + number) if measure.cycle else f"X{at}-{number}"
                element = etree.Element("measure", number=name)
            length = min(beats, left)
            left -= length
            ticks = int(length * self.document.beat)
            silence: RestStyle = "measure" if length == beats else "values"
            part = MeasureContent(ticks, 0, (0, ticks), (True,), (-1,), False, False)
            add_rests(element, part, self.document.beat, silence)
            if number == measure.rests - 1:
                self.right(element, at, measure)
            yield element

    def left(self, element: Element, at: int, measure: Measure) -> None:
        """Where a repeat or an ending begins."""
        before = self.strain.measures[at - 1].ending if at else ()
        begins = measure.ending and measure.ending != before
        if not measure.forward and not begins:
            return
        barline = _sub(element, "barline", location="left")
        if measure.forward:
            _sub(barline, "bar-style").text = "heavy-light"
        if begins:
            _sub(barline, "ending", number=_ending_numbers(measure.ending), type="start")
        if measure.forward:
            _sub(barline, "repeat", direction="forward")

    def right(self, element: Element, at: int, measure: Measure) -> None:
        """The line at a measure's end, and the repeat or ending that ends with it."""
        last = at + 1 == len(self.strain.measures)
        after = () if last else self.strain.measures[at + 1].ending
        ends = measure.ending and measure.ending != after
        style = "light-heavy" if measure.times else self.line(at, measure)
        if measure.times > 2 and not measure.ending:
            self.at_end(element, _repeat_count(measure.times))
        for jump in measure.jumps:
            if jump in CLOSING:
                self.at_end(element, _jump_direction(jump))
        if not style and not ends:
            return
        barline = _sub(element, "barline", location="right")
        if style:
            _sub(barline, "bar-style").text = style
        if ends:
            kind = "stop" if measure.times else "discontinue"
            _sub(barline, "ending", number=_ending_numbers(measure.ending), type=kind)
        if measure.times:
            _sub(barline, "repeat", direction="backward", times=str(measure.times))

    def at_end(self, element: Element, direction: Element) -> None:
        """A word at a measure's end. The engraver would lengthen the staff for it behind the last
        barline: for him it stands over the last note."""
        notes = [note for note in element.iterfind("note") if note.find("chord") is None]
        if self.document.engraved and notes:
            notes[-1].addprevious(direction)
        else:
            element.append(direction)

    def line(self, at: int, measure: Measure) -> str:
        """The style of the line at a measure's end, or "" for a plain barline."""
        if at + 1 == len(self.strain.measures):
            return "light-heavy" if self.strain.letter == self.document.last else "light-light"
        if measure.closes:
            return ""
        if self.strain.free:
            return "none"
        # A section cut for engraving has no line where it goes on.
        return "dashed" if measure.beat - 1 + measure.length in self.strain.cycle.starts else "none"


def _add_key(attributes: Element, key: Key) -> None:
    """A standard signature, or the mode's own signs one by one."""
    element = _sub(attributes, "key")
    if key.signs is None:
        _sub(element, "fifths").text = str(key.fifths)
        return
    for letter, alter in key.signs:
        _sub(element, "key-step").text = letter
        _sub(element, "key-alter").text = str(alter)


def _ending_numbers(ending: tuple[int, ...]) -> str:
    return ", ".join(map(str, ending))


def _add_clef(attributes: Element, reader: Reader | None, kind: str) -> None:
    """The clef, the lines of the staff, and by how much what is written sounds otherwise."""
    sign, line, octave = CLEFS[reader.clef] if reader is not None else CLEFS["treble"]
    clef = _sub(attributes, "clef")
    if kind != "melody":
        _sub(clef, "sign").text = "percussion"
        if kind == "strokes":
            _sub(_sub(attributes, "staff-details"), "staff-lines").text = "1"
        return
    _sub(clef, "sign").text = sign
    _sub(clef, "line").text = str(line)
    if octave:
        _sub(clef, "clef-octave-change").text = str(octave)
    if reader is not None and reader.transposes:
        _add_transpose(attributes, reader.transposes)


def _add_transpose(attributes: Element, semitones: int) -> None:
    octaves, rest = divmod(abs(semitones), 12)
    sign = -1 if semitones < 0 else 1
    transpose = _sub(attributes, "transpose")
    _sub(transpose, "diatonic").text = str(sign * DIATONIC_STEPS[rest])
    _sub(transpose, "chromatic").text = str(sign * rest)
    if octaves:
        _sub(transpose, "octave-change").text = str(sign * octaves)


_SOUNDS = {
    "segno": ("segno", "1"), "coda": ("coda", "1"), "To Coda": ("tocoda", "1"),
    "Fine": ("fine", "yes"), "D.S. al Coda": ("dalsegno", "1"), "D.S. al Fine": ("dalsegno", "1"),
}  # fmt: skip
"""What a jump is to a machine: the attribute of MusicXML's sound, and its value."""


def _jump_direction(jump: str) -> Element:
    """A sign or word of a jump."""
    direction = etree.Element("direction", placement="above")
    kind = _sub(direction, "direction-type")
    if jump in OPENING:
        _sub(kind, jump)
    else:
        words = _sub(kind, "words")
        words.set("font-weight", "bold")
        words.text = jump
    name, value = _SOUNDS[jump]
    _sub(direction, "sound", {name: value})
    return direction


def _repeat_count(times: int) -> Element:
    """How often a repeat is played, said at its end."""
    direction = etree.Element("direction", placement="above")
    words = _sub(_sub(direction, "direction-type"), "words")
    words.set("font-weight", "bold")
    words.text = f"×{times}"
    return direction


def _add_drone(element: Element, key: Key, engraved: bool) -> None:
    symbol = drone_symbol(key.tonic, key.mode.drone_second)
    harmony = _sub(element, "harmony")
    root = _sub(harmony, "root")
    step = _sub(root, "root-step")
    step.text = symbol.step
    if symbol.plain:
        step.set("text", "")
    # The engraver prints the alteration of a root that has a text of its own, whatever it is told.
    if symbol.alter and not (symbol.plain and engraved):
        alter = _sub(root, "root-alter")
        alter.text = str(symbol.alter)
        if symbol.plain:
            alter.set("print-object", "no")
    # The engraver takes the text for narrower than it is set: what is beside it must keep away.
    text = f"{symbol.text}\u00a0" if engraved else symbol.text
    _sub(harmony, "kind", text=text).text = symbol.kind


def _add_clap(element: Element, sign: str, first: bool) -> None:
    direction = _sub(element, "direction", placement="above")
    words = _sub(_sub(direction, "direction-type"), "words")
    words.set("default-y", str(SIGN_HEIGHT))
    words.set("font-style", "normal")
    words.set("font-weight", "bold")
    if first:
        words.set("enclosure", "circle")
    words.text = sign
