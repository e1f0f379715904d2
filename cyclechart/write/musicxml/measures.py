"""The measures of one strain as MusicXML: attributes, claps, notes or rests, barlines."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from lxml import etree

from cyclechart.arrange.sheet.measures import CLOSING, OPENING, Measure
from cyclechart.arrange.sheet.model import Reader, Sheet, StaffKey, Strain
from cyclechart.catalog.instruments import Clef
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.measure_contents import (
    MeasureContent,
    measure_contents,
    ticks_per_beat,
)
from cyclechart.write.musicxml.note_templates import NoteTemplates
from cyclechart.write.musicxml.notes import NoteWriter, RestStyle, add_rests
from cyclechart.write.musicxml.staff import drone_symbol, meter_of
from cyclechart.write.musicxml.tone_names import full_tone_namer

SIGN_HEIGHT = 25
"""The height of the row of claps and waves above the staff, in tenths of a staff space."""

CLEFS: dict[Clef, tuple[str, int, int]] = {
    "treble": ("G", 2, 0), "treble-8vb": ("G", 2, -1), "alto": ("C", 3, 0), "tenor": ("C", 4, 0),
    "bass": ("F", 4, 0), "percussion": ("percussion", 0, 0),
}  # fmt: skip
"""The sign, the line and the octave of each clef."""

MIDDLE_LINE: dict[Clef, tuple[str, int]] = {
    "treble": ("B", 4), "treble-8vb": ("B", 3), "alto": ("C", 4), "tenor": ("A", 3),
    "bass": ("D", 3), "percussion": ("B", 4),
}  # fmt: skip
"""The step and octave of the middle line under each clef."""

DIATONIC_STEPS = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
"""The staff steps of an interval of 0 to 11 semitones, as transposing instruments count them."""


class PartContext:
    """The ticks and note templates that the strains of one part share.

    ``beat``: ticks a beat; ``engraved``: the document is for the engraver, not to publish;
    ``last``: the letter of the last strain.
    """

    def __init__(self, sheet: Sheet, strains: tuple[Strain, ...], *, engraved: bool) -> None:
        self.sheet = sheet
        self.beat = ticks_per_beat(strains)
        self.engraved = engraved
        self.templates: dict[StaffKey, NoteTemplates] = {}
        self.last = sheet.strains[-1].letter if sheet.strains else ""

    def templates_for(self, key: StaffKey) -> NoteTemplates:
        """Return the templates of the notes on one Sa."""
        templates = self.templates.get(key)
        if templates is None:
            reader = self.sheet.reader
            # MusicXML counts an unpitched note's place by the clef in force; the engraver takes
            # it to be a treble clef always.
            clef = "treble" if self.engraved or reader is None else reader.clef
            middle = MIDDLE_LINE[clef]
            if reader is not None and reader.staff == "strokes":
                middle = ("E", 4)
            templates = NoteTemplates(
                key.tonic, key.shift, middle, full_tone_namer(key, self.sheet.names)
            )
            templates.spellings.update(key.borrowed)
            self.templates[key] = templates
        return templates


class StrainWriter:
    """Writes the measures of one strain into a part: its notes, or rests where another part plays.

    ``kind``: that of the part; a strain of another kind is written as rests. ``numbers``: the
    numbers of its measures. ``opens_part``: it is the first strain of its part. ``part``: the
    number of the part in a score, 0 where there is one alone.
    """

    def __init__(
        self,
        context: PartContext,
        strain: Strain,
        kind: str,
        numbers: tuple[str, ...],
        *,
        opens_part: bool,
        part: int = 0,
    ) -> None:
        self.context = context
        self.strain = strain
        self.kind = kind
        self.opens_part = opens_part
        self.contents: Iterator[MeasureContent] = measure_contents(strain, context.beat)
        self.numbers = numbers
        self.shows_signs = not (context.engraved and part > 1)
        """True where claps and the drone stand over it: in a drawn score over the first staff."""
        self.notes: NoteWriter | None = None
        if strain.kind == kind:
            templates = context.templates_for(strain.key)
            self.notes = NoteWriter(strain, templates, brackets=not context.engraved, part=part)

    def measures(
        self,
        *,
        time: bool,
        key: bool,
        breaks: Collection[int] = (),
        heading: Iterable[Element] = (),
    ) -> Iterator[Element]:
        """Yield the measures of the strain.

        ``time``, ``key``: the first one shows the time signature, the key signature; ``heading``:
        the directions over it; ``breaks``: the indices of the measures that begin a system.
        """
        for at, measure in enumerate(self.strain.measures):
            element = self.new_measure(at, measure)
            if at in breaks:
                _sub(element, "print", {"new-system": "yes"})
            self.add_left_barline(element, at, measure)
            if at == 0:
                self.add_attributes(element, time=time, key=key)
                element.extend(heading)
            for jump in measure.jumps:
                if jump in OPENING:
                    element.append(_jump_direction(jump))
            if measure.rests:
                yield from self.rest_measures(element, at, measure)
                continue
            self.add_content(element, at, measure)
            yield element

    def new_measure(self, at: int, measure: Measure) -> Element:
        """Return the measure of an index, still empty."""
        element = etree.Element("measure", number=self.numbers[at])
        if self.strain.free or not measure.opens:
            element.set("implicit", "yes")
        return element

    def add_attributes(self, element: Element, *, time: bool, key: bool = False) -> None:
        """Add clef, key and meter, where the part begins or they change."""
        key = (key or self.opens_part) and self.kind == "melody"
        if not self.opens_part and not time and not key:
            return
        attributes = _sub(element, "attributes")
        if self.opens_part:
            _sub(attributes, "divisions").text = str(self.context.beat)
        if key:
            _add_key(attributes, self.strain.key)
        if time:
            self.add_time(attributes)
        if self.opens_part:
            _add_clef(attributes, self.context.sheet.reader, self.kind)

    def add_time(self, attributes: Element) -> None:
        """Add the cycle as an additive time signature; a free line has none."""
        time = _sub(attributes, "time")
        if self.strain.free:
            time.set("print-object", "no")
            _sub(time, "senza-misura")
            return
        for beats, kind in meter_of(self.strain.cycle):
            _sub(time, "beats").text = beats
            _sub(time, "beat-type").text = kind

    def add_content(self, element: Element, at: int, measure: Measure) -> None:
        """Add the symbol of the drone, the clap or wave, the notes and the right barline."""
        context, content = self.context, next(self.contents)
        # Some readers take a measure rest in a section for a rest of the whole cycle, and the
        # engraver leaves no place at its beginning for a clap or wave.
        rest_style: RestStyle = "values" if context.engraved else "halves"
        if not context.engraved and measure.length == self.strain.cycle.beats:
            rest_style = "measure"
        if self.notes is None:
            add_rests(element, content, context.beat, rest_style)
        else:
            if at == 0 and self.kind == "melody" and self.strain.drone and self.shows_signs:
                _add_drone(element, self.strain.key, context.engraved)
            if measure.sign and not self.strain.free and self.shows_signs:
                _add_clap(element, measure.sign, measure.opens)
            self.notes.add_measure(element, content, context.beat, rest_style)
        self.add_right_barline(element, at, measure)

    def rest_measures(self, element: Element, at: int, measure: Measure) -> Iterator[Element]:
        """Yield the whole cycles of a multiple rest, a measure each; the last may be cut off."""
        beats = self.strain.cycle.beats
        next(self.contents)
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
            ticks = int(length * self.context.beat)
            rest_style: RestStyle = "measure" if length == beats else "values"
            content = MeasureContent(ticks, 0, (0, ticks), (True,), (-1,), False, False)
            add_rests(element, content, self.context.beat, rest_style)
            if number == measure.rests - 1:
                self.add_right_barline(element, at, measure)
            yield element

    def add_left_barline(self, element: Element, at: int, measure: Measure) -> None:
        """Add the left barline where a repeat or an ending begins."""
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

    def add_right_barline(self, element: Element, at: int, measure: Measure) -> None:
        """Add the right barline, with the repeat or ending that ends there."""
        last = at + 1 == len(self.strain.measures)
        after = () if last else self.strain.measures[at + 1].ending
        ends = measure.ending and measure.ending != after
        style = "light-heavy" if measure.times else self.barline_style(at, measure)
        if measure.times > 2 and not measure.ending:
            self.add_at_end(element, _repeat_count(measure.times))
        for jump in measure.jumps:
            if jump in CLOSING:
                self.add_at_end(element, _jump_direction(jump))
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

    def add_at_end(self, element: Element, direction: Element) -> None:
        """Add a direction at a measure's end.

        For the engraver, which would lengthen the staff for it behind the last barline, it stands
        over the last note.
        """
        notes = [note for note in element.iterfind("note") if note.find("chord") is None]
        if self.context.engraved and notes:
            notes[-1].addprevious(direction)
        else:
            element.append(direction)

    def barline_style(self, at: int, measure: Measure) -> str:
        """Return the style of the line at a measure's end, or "" for a plain barline."""
        if at + 1 == len(self.strain.measures):
            return "light-heavy" if self.strain.letter == self.context.last else "light-light"
        if measure.closes:
            return ""
        if self.strain.free:
            return "none"
        # A section that is cut for engraving has no line at the cut.
        ends = measure.whole or measure.beat - 1 + measure.length in self.strain.cycle.starts
        return "dashed" if ends else "none"


def _add_key(attributes: Element, key: StaffKey) -> None:
    """Add a standard key signature, or the accidentals of the mode one by one."""
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
    """Add the clef, the number of staff lines and the transposition."""
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


TO_CODA = "To Coda"

_SOUNDS = {
    "segno": ("segno", "1"), "coda": ("coda", "1"), "To Coda": ("tocoda", "1"),
    "Fine": ("fine", "yes"), "D.S. al Coda": ("dalsegno", "1"), "D.S. al Fine": ("dalsegno", "1"),
}  # fmt: skip
"""The attribute of MusicXML's sound element for each jump, and its value."""


def _jump_direction(jump: str) -> Element:
    """Return the direction with the sign or the word of a jump."""
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
        if jump == TO_CODA:
            _sub(_sub(direction, "direction-type"), "coda")
    name, value = _SOUNDS[jump]
    _sub(direction, "sound", {name: value})
    return direction


def _repeat_count(times: int) -> Element:
    """Return the direction that says how often a repeat is played."""
    direction = etree.Element("direction", placement="above")
    words = _sub(_sub(direction, "direction-type"), "words")
    words.set("font-weight", "bold")
    words.text = f"×{times}"
    return direction


def _add_drone(element: Element, key: StaffKey, engraved: bool) -> None:
    """Add the chord symbol of the drone."""
    symbol = drone_symbol(key.tonic, key.mode.drone_second)
    harmony = _sub(element, "harmony")
    root = _sub(harmony, "root")
    step = _sub(root, "root-step")
    step.text = symbol.step
    if symbol.plain:
        step.set("text", "")
    # Of a root with a text of its own the engraver prints the alteration even if it is hidden.
    if symbol.alter and not (symbol.plain and engraved):
        alter = _sub(root, "root-alter")
        alter.text = str(symbol.alter)
        if symbol.plain:
            alter.set("print-object", "no")
    # The engraver takes the text for narrower than it is: the space keeps its neighbours away.
    text = f"{symbol.text}\u00a0" if engraved else symbol.text
    _sub(harmony, "kind", text=text).text = symbol.kind


def _add_clap(element: Element, sign: str, first: bool) -> None:
    """Add the sign of a clap or wave; the first beat of a cycle is in a circle."""
    direction = _sub(element, "direction", placement="above")
    words = _sub(_sub(direction, "direction-type"), "words")
    words.set("default-y", str(SIGN_HEIGHT))
    words.set("font-style", "normal")
    words.set("font-weight", "bold")
    if first:
        words.set("enclosure", "circle")
    words.text = sign
