"""A lead sheet as MusicXML 4.0 (partwise): the published file, and one strain alone to engrave.

One MusicXML measure is a section of the cycle; the one that opens a cycle carries its number, the
lines inside a cycle are dashed. A note's id is ``n-A-12``: the strain's letter and the note's index
in it; what is tied to it has ``n-A-12-2`` and so on, its grace notes ``n-A-12-g1``.
"""

from __future__ import annotations

import io
from collections.abc import Collection, Iterable, Iterator
from typing import Literal

from lxml import etree

import cyclechart
from cyclechart.arrange.measures import Measure
from cyclechart.arrange.sheet import Key, Sheet, Strain
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.spelling import Tonic
from cyclechart.write.notes import NoteWriter, Silence, Templates, add_silence
from cyclechart.write.staff import (
    Filled,
    clean,
    drone_symbol,
    fill,
    grid_of,
    meter_of,
    plain_number,
)

Element = etree._Element
_sub = etree.SubElement

_DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN"'
    ' "http://www.musicxml.org/dtds/partwise.dtd">'
)

SIGN_HEIGHT = 25
"""Claps and waves stand in one row, so many tenths of a staff space above the staff."""

Kind = Literal["melody", "strokes"]
_PARTS: dict[Kind, str] = {"melody": "Melody", "strokes": "Hand drums"}


def score_xml(sheet: Sheet) -> bytes:
    """The published file: a part for the melody, one for the hand drums where a line has strokes.

    The strains follow one another; what a part does not play it rests. The same sheet gives the
    same bytes.
    """
    work = etree.Element("work")
    _sub(work, "work-title").text = clean(sheet.title)
    identification = etree.Element("identification")
    if sheet.composer:
        _sub(identification, "creator", type="composer").text = clean(sheet.composer)
    software = _sub(_sub(identification, "encoding"), "software")
    software.text = f"cyclechart {cyclechart.__version__}"
    held = {strain.kind for strain in sheet.strains}
    kinds: list[Kind] = [kind for kind in _PARTS if kind in held] or ["melody"]
    listed = etree.Element("part-list")
    for number, kind in enumerate(kinds, start=1):
        part = _sub(listed, "score-part", id=f"P{number}")
        _sub(part, "part-name").text = _PARTS[kind]
    document = _Document(sheet, sheet.strains, engraved=False)
    parts = (_part(document, kind, heads=kind == kinds[0]) for kind in kinds)
    return _bytes([work, identification, listed], parts)


def _part(document: _Document, kind: Kind, *, heads: bool) -> Iterator[Element]:
    """The measures of a part; ``heads``: with tempo, letters and names of the strains."""
    base = 0
    before: Cycle | Literal["free"] | None = None
    fifths: int | None = None
    for strain in document.sheet.strains:
        meter: Cycle | Literal["free"] = "free" if strain.free else strain.cycle
        writer = _StrainWriter(document, strain, kind, base, opens_part=before is None)
        for at, measure in enumerate(strain.measures):
            element = writer.open(at, measure)
            if at == 0:
                changed = fifths is not None and fifths != strain.key.fifths
                writer.attributes(element, time=meter != before, key=changed)
                if heads:
                    _add_heading(element, document.sheet, strain)
            writer.close(element, at, measure)
            yield element
        base += max([1, *(measure.cycle for measure in strain.measures)])
        before, fifths = meter, strain.key.fifths
    if before is None:
        yield etree.Element("measure", number="1")


def strain_xml(
    sheet: Sheet, strain: Strain, *, first: bool, breaks: Collection[int] | None = None
) -> bytes:
    """One strain alone, for engraving: no title, tempo or letter, which stand beside it.

    ``first`` shows the time signature; ``breaks`` are the indices of the measures before which a
    new system begins.
    """
    listed = etree.Element("part-list")
    _sub(_sub(listed, "score-part", id="P1"), "part-name")
    document = _Document(sheet, (strain,), engraved=True)
    return _bytes([listed], [_alone(document, strain, first, breaks or ())])


def _alone(
    document: _Document, strain: Strain, first: bool, breaks: Collection[int]
) -> Iterator[Element]:
    writer = _StrainWriter(document, strain, strain.kind, 0, opens_part=True)
    for at, measure in enumerate(strain.measures):
        element = writer.open(at, measure)
        if at in breaks:
            _sub(element, "print", {"new-system": "yes"})
        if at == 0:
            # Even a hidden time signature takes its room from the engraver.
            writer.attributes(element, time=first)
        writer.close(element, at, measure)
        yield element


def _bytes(heads: Iterable[Element], parts: Iterable[Iterable[Element]]) -> bytes:
    """The document, measure by measure: a tree of the whole would cost more the longer it is."""
    stream = io.BytesIO()
    with etree.xmlfile(stream, encoding="UTF-8") as file:
        file.write_declaration()
        file.write_doctype(_DOCTYPE)
        with file.element("score-partwise", version="4.0"):
            file.write("\n")
            for head in heads:
                file.write(head, pretty_print=True)
            for number, part in enumerate(parts, start=1):
                with file.element("part", id=f"P{number}"):
                    file.write("\n")
                    for measure in part:
                        file.write(measure, pretty_print=True)
                file.write("\n")
    return stream.getvalue()


class _Document:
    """What the strains of one document share."""

    def __init__(self, sheet: Sheet, strains: tuple[Strain, ...], *, engraved: bool) -> None:
        self.sheet = sheet
        self.beat = grid_of(strains)
        self.engraved = engraved
        self.templates: dict[Tonic, Templates] = {}
        self.last = sheet.strains[-1].letter if sheet.strains else ""

    def templates_on(self, tonic: Tonic) -> Templates:
        """The notes that are alike on one Sa."""
        return self.templates.setdefault(tonic, Templates(tonic))


class _StrainWriter:
    """Writes the measures of one strain into a part: its notes, or rests where another plays it."""

    def __init__(
        self, document: _Document, strain: Strain, kind: Kind, base: int, *, opens_part: bool
    ) -> None:
        self.document = document
        self.strain = strain
        self.kind = kind
        self.opens_part = opens_part
        self.filled: Iterator[Filled] = fill(strain, document.beat)
        self.numbers = _numbers(strain, base)
        self.notes: NoteWriter | None = None
        if strain.kind == kind:
            self.notes = NoteWriter(
                strain, document.templates_on(strain.key.tonic), brackets=not document.engraved
            )

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
            _sub(_sub(attributes, "key"), "fifths").text = str(self.strain.key.fifths)
        if time:
            self.time(attributes)
        if self.opens_part:
            clef = _sub(attributes, "clef")
            if self.kind == "melody":
                _sub(clef, "sign").text = "G"
                _sub(clef, "line").text = "2"
            else:
                _sub(clef, "sign").text = "percussion"
                _sub(_sub(attributes, "staff-details"), "staff-lines").text = "1"

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
        silence: Silence = "values" if document.engraved else "halves"
        if measure.length == self.strain.cycle.beats and not document.engraved:
            silence = "measure"
        if self.notes is None:
            add_silence(element, filled, document.beat, silence)
        else:
            if at == 0 and self.kind == "melody":
                _add_drone(element, self.strain.key, document.engraved)
            if measure.sign and not self.strain.free:
                _add_clap(element, measure.sign, measure.opens)
            self.notes.write(element, filled, document.beat, silence)
        style = self.line(at, measure)
        if style:
            barline = _sub(element, "barline", location="right")
            _sub(barline, "bar-style").text = style

    def line(self, at: int, measure: Measure) -> str:
        """The style of the line at a measure's end, or "" for a plain barline."""
        if at + 1 == len(self.strain.measures):
            return "light-heavy" if self.strain.letter == self.document.last else "light-light"
        if self.strain.free:
            return "none"
        if measure.closes:
            return ""
        # A section cut for engraving has no line where it goes on.
        return "dashed" if measure.beat - 1 + measure.length in self.strain.cycle.starts else "none"


def _numbers(strain: Strain, base: int) -> list[str]:
    """Measure numbers, each once: a cycle's own on its first measure, then 1b, 1c …

    ``base`` is the number of the last cycle before the strain; a later strain's pickup is named
    after it (X4, X4b), the first one's is 0. (Of 1.2 some readers make a twelfth measure.)
    """
    numbers = []
    cycle, count = -1, 0
    for measure in strain.measures:
        count = count + 1 if measure.cycle == cycle else 1
        cycle = measure.cycle
        name = f"X{base}" if cycle == 0 and base else str(base + cycle)
        numbers.append(name + (_letters(count) if count > 1 else ""))
    return numbers


def _letters(number: int) -> str:
    """1 is a, 26 z, 27 aa."""
    head, tail = divmod(number - 1, 26)
    return (_letters(head) if head else "") + chr(ord("a") + tail)


def _add_heading(element: Element, sheet: Sheet, strain: Strain) -> None:
    """The strain's letter and name, and over the first one the tempo."""
    direction = _sub(element, "direction", placement="above")
    _sub(_sub(direction, "direction-type"), "rehearsal").text = strain.letter
    name = (
        strain.name
        if len(sheet.cycles) == 1 or strain.free
        else (f"{strain.name}, in {strain.cycle.name}")
    )
    _sub(_sub(direction, "direction-type"), "words").text = clean(name)
    if strain is not sheet.strains[0]:
        return
    tempo = plain_number(sheet.tempo)
    direction = _sub(element, "direction", placement="above")
    metronome = _sub(_sub(direction, "direction-type"), "metronome")
    _sub(metronome, "beat-unit").text = "quarter"
    _sub(metronome, "per-minute").text = tempo
    _sub(direction, "sound", tempo=tempo)


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
    _sub(harmony, "kind", text=symbol.text).text = symbol.kind


def _add_clap(element: Element, sign: str, first: bool) -> None:
    direction = _sub(element, "direction", placement="above")
    words = _sub(_sub(direction, "direction-type"), "words")
    words.set("default-y", str(SIGN_HEIGHT))
    words.set("font-style", "normal")
    words.set("font-weight", "bold")
    if first:
        words.set("enclosure", "circle")
    words.text = sign
