"""The measures of one strain as MusicXML: attributes, claps, notes or rests, barlines."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from fractions import Fraction
from itertools import pairwise

from lxml import etree

from cyclechart.arrange.sheet.measures import CLOSING, OPENING, Measure
from cyclechart.arrange.sheet.model import Reader, Sheet, StaffKey, Strain
from cyclechart.catalog.instruments import Clef
from cyclechart.write.musicxml.chord_symbols import add_chord_symbol
from cyclechart.write.musicxml.directions import (
    add_clap,
    end_of_tempo_change,
    jump_direction,
    repeat_count,
    tempo_change,
)
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.measure_contents import (
    MeasureContent,
    measure_contents,
    silent_content,
    ticks_per_beat,
)
from cyclechart.write.musicxml.note_layers import (
    KIT_LAYERS,
    LayerPlan,
    add_lower_rests,
    keyboard_layers,
)
from cyclechart.write.musicxml.note_templates import NoteTemplates
from cyclechart.write.musicxml.notes import NoteWriter, RestStyle, add_rests
from cyclechart.write.musicxml.signatures import add_clef, add_key, add_time
from cyclechart.write.musicxml.staff import drone_symbol, meter_of, meter_of_beats
from cyclechart.write.musicxml.tone_names import full_tone_namer

MIDDLE_LINE: dict[Clef, tuple[str, int]] = {
    "treble": ("B", 4), "treble-8vb": ("B", 3), "alto": ("C", 4), "tenor": ("A", 3),
    "bass": ("D", 3), "percussion": ("B", 4),
}  # fmt: skip
"""The step and octave of the middle line under each clef."""


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
        self.meter = Fraction(0)
        """The beats of the time signature in force, shown or hidden; 0 for none."""

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
            lower = MIDDLE_LINE["treble" if self.engraved else "bass"]
            namer = full_tone_namer(key, self.sheet.names, self.sheet.script)
            templates = NoteTemplates(key.tonic, key.shift, middle, lower, namer)
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
        """True where claps stand over it: in a drawn score over the first staff."""
        self.change = strain.tempo_change if part <= 1 else None
        """The steady change of tempo that is shown: in a score over the first staff."""
        self.change_from = self.measure_of_change()
        self.time = False
        self.notes: NoteWriter | None = None
        self.layers = _layers_of(context.sheet.reader, strain)
        if strain.kind == kind:
            templates = context.templates_for(strain.key)
            reader = context.sheet.reader
            middle = MIDDLE_LINE[reader.clef if reader is not None else "treble"]
            self.notes = NoteWriter(
                strain,
                templates,
                brackets=not context.engraved,
                part=part,
                layers=self.layers,
                middle=middle,
            )

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
        self.time = time
        for at, measure in enumerate(self.strain.measures):
            element = self.new_measure(at, measure)
            if at in breaks:
                _sub(element, "print", {"new-system": "yes"})
            self.add_left_barline(element, at, measure)
            if at == 0:
                self.add_attributes(element, time=time, key=key)
                element.extend(heading)
            if self.change is not None and at == self.change_from:
                element.append(tempo_change(self.change.word))
            for jump in measure.jumps:
                if jump in OPENING:
                    element.append(jump_direction(jump, engraved=self.context.engraved))
            if measure.rests:
                yield from self.rest_measures(element, at, measure)
                continue
            self.add_content(element, at, measure)
            yield element

    def measure_of_change(self) -> int:
        """Return the index of the measure in which the change of tempo begins; 0 without one."""
        begins = self.change.start if self.change is not None else self.strain.measures[0].start
        return max(
            (at for at, measure in enumerate(self.strain.measures) if measure.start <= begins),
            default=0,
        )

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
            add_key(attributes, self.strain.key)
        if time:
            self.add_time(attributes)
        if self.opens_part and self.layers is not None and self.layers.staves > 1:
            _sub(attributes, "staves").text = str(self.layers.staves)
        if self.opens_part:
            add_clef(attributes, self.context.sheet.reader, self.kind)

    def add_time(self, attributes: Element) -> None:
        """Add the cycle as a time signature; a free line has none."""
        self.context.meter = Fraction(0) if self.strain.free else self.strain.cycle.beats
        add_time(attributes, None if self.strain.free else meter_of(self.strain.cycle))

    def is_measure_rest(self, measure: Measure, content: MeasureContent) -> bool:
        """Return whether a measure is written as one rest as long as it is."""
        notes = self.notes
        if notes is not None and content.rests != (True,) and notes.cue_rest(content) is None:
            return False
        if measure.length == self.strain.cycle.beats:
            return True
        # A measure has one time signature: where it shows that of the cycle, none can be hidden.
        shows_time = self.time and measure is self.strain.measures[0]
        unlike = not self.context.engraved and (self.strain.free or shows_time)
        return measure.whole and not unlike

    def set_hidden_meter(self, element: Element, beats: Fraction) -> None:
        """Put a hidden time signature in force for measures of so many beats, the cycle's own
        included; a measure rest is as long as the time signature in force says."""
        context, cycle = self.context, self.strain.cycle
        if context.engraved or self.strain.free or context.meter == beats:
            return
        context.meter = beats
        meter = meter_of(cycle) if beats == cycle.beats else meter_of_beats(beats)
        add_time(_sub(element, "attributes"), meter, hidden=True)

    def add_content(self, element: Element, at: int, measure: Measure) -> None:
        """Add the symbol of the drone, the clap or wave, the notes and the right barline."""
        context, content = self.context, next(self.contents)
        rest_style: RestStyle = "values"
        if self.is_measure_rest(measure, content):
            rest_style = "spaced" if context.engraved else "measure"
            self.set_hidden_meter(element, measure.length)
        else:
            self.set_hidden_meter(element, self.strain.cycle.beats)
        if self.notes is None:
            add_rests(element, content, context.beat, rest_style)
            add_lower_rests(element, self.layers)
        else:
            # A page names the drone in its headings.
            if at == 0 and self.kind == "melody" and self.strain.drone and not context.engraved:
                _add_drone(element, self.strain.key)
            if measure.sign and not self.strain.free and self.shows_signs:
                add_clap(element, measure.sign, measure.opens)
            self.add_symbols(element, measure)
            self.notes.add_measure(element, content, context.beat, rest_style)
        self.add_right_barline(element, at, measure)

    def add_symbols(self, element: Element, measure: Measure) -> None:
        """Add the chords of another line that sound in a measure."""
        for at, symbol in self.strain.symbols:
            if measure.start <= at < measure.end:
                add_chord_symbol(
                    element,
                    symbol,
                    self.strain.key.tonic,
                    offset=int((at - measure.start) * self.context.beat),
                    engraved=self.context.engraved,
                )

    def rest_measures(self, element: Element, at: int, measure: Measure) -> Iterator[Element]:
        """Yield the whole cycles of a multiple rest, a measure each; the last may be cut off."""
        beats = self.strain.cycle.beats
        self.set_hidden_meter(element, beats)
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
            ends = [0, ticks]
            if length < beats:
                starts = (int(start * self.context.beat) for start in self.strain.cycle.starts)
                ends = [*(start for start in starts if start < ticks), ticks]
            rest_style: RestStyle = "measure" if length == beats else "values"
            if self.context.engraved and measure.rests == 1 and rest_style == "measure":
                # A single silent cycle has its sign, and room for it before its rest.
                rest_style = "spaced"
                sign = self.strain.cycle.signs.get(Fraction(0), "")
                if sign and measure.cycle and self.shows_signs and self.kind == "melody":
                    add_clap(element, sign, first=True)
            for start, end in pairwise(ends):
                content = silent_content(end - start, (end - start) // self.context.beat)
                add_rests(element, content, self.context.beat, rest_style)
            add_lower_rests(element, self.layers)
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
            number = self.ending_number(measure)
            ending = _sub(barline, "ending", number=number, type="start")
            ending.text = _ending_text(measure.ending)
        if measure.forward:
            _sub(barline, "repeat", direction="forward")

    def add_right_barline(self, element: Element, at: int, measure: Measure) -> None:
        """Add the right barline, with the repeat or ending that ends there."""
        last = at + 1 == len(self.strain.measures)
        after = () if last else self.strain.measures[at + 1].ending
        ends = measure.ending and measure.ending != after
        style = "light-heavy" if measure.times else self.barline_style(at, measure)
        if last and self.change is not None:
            self.add_at_end(element, end_of_tempo_change())
        # In an engraved picture it is put over the barline afterwards.
        if measure.times > 2 and not measure.ending and not self.context.engraved:
            self.add_at_end(element, repeat_count(measure.times))
        for jump in measure.jumps:
            if jump in CLOSING:
                self.add_at_end(element, jump_direction(jump, engraved=self.context.engraved))
        if not style and not ends:
            return
        barline = _sub(element, "barline", location="right")
        if style:
            _sub(barline, "bar-style").text = style
        if ends:
            kind = "stop" if measure.times else "discontinue"
            _sub(barline, "ending", number=self.ending_number(measure), type=kind)
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

    def ending_number(self, measure: Measure) -> str:
        """Return the number of an ending; the engraver prints it in place of the text."""
        if self.context.engraved:
            return _ending_text(measure.ending)
        return ", ".join(map(str, measure.ending))

    def barline_style(self, at: int, measure: Measure) -> str:
        """Return the style of the line at a measure's end, or "" for a plain barline."""
        if at + 1 == len(self.strain.measures):
            return "light-heavy" if self.strain.letter == self.context.last else "light-light"
        if measure.ends_time:
            return "light-light"
        if measure.closes:
            return ""
        if self.strain.free:
            return "none"
        # A section that is cut for engraving has no line at the cut.
        ends = measure.whole or measure.beat - 1 + measure.length in self.strain.cycle.starts
        return "dashed" if ends else "none"


def _layers_of(reader: Reader | None, strain: Strain) -> LayerPlan | None:
    """Return the two layers of a strain: a kit's, or those of two staves."""
    if strain.kind == "kit":
        return KIT_LAYERS
    if reader is not None and reader.staves > 1:
        return keyboard_layers(strain.key.tonic.midi + strain.key.shift + reader.transposes)
    return None


def _ending_text(ending: tuple[int, ...]) -> str:
    """Return the times of an ending as printed: ``1.``, ``1., 2.`` or ``1.–5.``"""
    if len(ending) > 2:
        return f"{ending[0]}.–{ending[-1]}."
    return ", ".join(f"{time}." for time in ending)


def _add_drone(element: Element, key: StaffKey) -> None:
    """Add the chord symbol of the drone."""
    symbol = drone_symbol(key.tonic, key.mode.drone_second)
    harmony = _sub(element, "harmony")
    root = _sub(harmony, "root")
    step = _sub(root, "root-step")
    step.text = symbol.step
    if symbol.plain:
        step.set("text", "")
    if symbol.alter:
        alter = _sub(root, "root-alter")
        alter.text = str(symbol.alter)
        if symbol.plain:
            alter.set("print-object", "no")
    _sub(harmony, "kind", text=symbol.text).text = symbol.kind
