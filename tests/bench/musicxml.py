"""Writing MusicXML: ours against bare lxml, music21 and partitura."""

from __future__ import annotations

import warnings
from collections.abc import Iterable, Sequence
from typing import Any

import others
import partitura
import tune
from lxml import etree
from music21.musicxml.m21ToXml import GeneralObjectExporter
from table import Subject, Target, by_contender, growth_of, ratio
from timing import Contender, medians, verify

from cyclechart.write.musicxml.document import score_xml

OURS, SAME, NOTES = "cyclechart", "same, bare", "notes alone"
NOTES_IN_MEASURE = 4

ABOUT = f"""
{OURS}: score_xml of a sheet made beforehand (ties, beams, tuplets, accidentals, lyrics, claps).
{SAME}: lxml, every element of our file made anew by SubElement with its attributes and text from
  nested tuples, serialised by tostring; read back, the trees are equal.
{NOTES}: lxml, as many note elements as our file has, each with pitch (step, octave), duration and
  type by SubElement, {NOTES_IN_MEASURE} to a measure, tostring without indents.
music21: a part of notes with lyrics made beforehand, GeneralObjectExporter(part).parse().
partitura: a part made beforehand, measured and tied, without lyrics; save_musicxml. It spells no
  beams and no tuplets here.
All write to memory.
"""

_Plan = tuple[tuple[str, dict[str, str], str | None, Any], ...]
"""The children of an element: tag, attributes, text, their own children."""


def plan_of(element: Any) -> _Plan:
    """The tree below an element, ready to be made again."""
    return tuple((child.tag, dict(child.attrib), child.text, plan_of(child)) for child in element)


def same_bare(plan: _Plan, doctype: str) -> bytes:
    """Return the tree built again, element by element."""
    root = etree.Element("score-partwise", version="4.0")
    _make(root, plan)
    return etree.tostring(
        root, xml_declaration=True, encoding="UTF-8", doctype=doctype, pretty_print=True
    )


def _make(parent: Any, plan: _Plan) -> None:
    for tag, attributes, text, below in plan:
        element = etree.SubElement(parent, tag, attributes)
        if text:
            element.text = text
        if below:
            _make(element, below)


def simple_notes(root: Any) -> list[tuple[str, str, str, str]]:
    """(step, octave, duration, type) of each note element."""
    paths = ("pitch/step", "pitch/octave", "duration", "type")
    return [
        (one, two, three, four)
        for note in root.iter("note")
        for one, two, three, four in [[note.findtext(path, "") for path in paths]]
    ]


def notes_alone(notes: Sequence[Iterable[str]]) -> bytes:
    """The least a file with so many notes can be."""
    root = etree.Element("score-partwise", version="4.0")
    part = etree.SubElement(root, "part", id="P1")
    measure = part
    for number, (step, octave, duration, kind) in enumerate(notes):
        if number % NOTES_IN_MEASURE == 0:
            name = str(number // NOTES_IN_MEASURE + 1)
            measure = etree.SubElement(part, "measure", number=name)
        note = etree.SubElement(measure, "note")
        pitch = etree.SubElement(note, "pitch")
        etree.SubElement(pitch, "step").text = step
        etree.SubElement(pitch, "octave").text = octave
        etree.SubElement(note, "duration").text = duration
        etree.SubElement(note, "type").text = kind
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8")


def contenders(count: int, quick: bool) -> list[Contender]:
    """Everybody that writes ``count`` notes; ``quick`` leaves music21 out of the longest rows."""
    sheet = tune.sheet_for(count)
    data = score_xml(sheet)
    root = _read(data)
    plan, doctype = plan_of(root), root.getroottree().docinfo.doctype
    assert plan_of(_read(same_bare(plan, doctype))) == plan
    notes = simple_notes(root)
    measured = others.partitura_part(count)
    made = [
        Contender(OURS, lambda: score_xml(sheet)),
        Contender(SAME, lambda: same_bare(plan, doctype)),
        Contender(NOTES, lambda: notes_alone(notes)),
        Contender("partitura", lambda: _partitura(measured)),
    ]
    if not (quick and count == tune.SIZES[-1]):
        part = others.music21_part(count, measured=True)
        made.append(Contender("music21", lambda: GeneralObjectExporter(part).parse(), slow=True))
    return made


def _read(data: bytes) -> Any:
    return etree.fromstring(data, etree.XMLParser(remove_blank_text=True))


def _partitura(part: Any) -> object:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return partitura.save_musicxml(part)


def notes_in(data: bytes) -> int:
    """Return the number of notes in a file; tied ones count once."""
    notes = etree.fromstring(data).iter("note")
    return sum(note.find("tie[@type='stop']") is None for note in notes)


def subject(quick: bool) -> Subject:
    """The whole table."""
    verify([one for one in contenders(tune.SIZES[0], quick) if one.name != NOTES], notes_in, 300)
    seconds = {count: medians(contenders(count, quick), count) for count in tune.SIZES}
    head, rows = by_contender(seconds, (SAME, NOTES), OURS)
    targets = (
        Target("3,000 notes, ours / same, bare", ratio(seconds, 3_000, OURS, SAME), 4),
        Target("3,000 notes, ours / notes alone", ratio(seconds, 3_000, OURS, NOTES), 4),
        Target("3,000 notes, music21 / ours", ratio(seconds, 3_000, "music21", OURS), 10, True),
        Target("growth of ours", growth_of(seconds, OURS), 1.1),
    )
    return Subject("MusicXML", ABOUT, head, rows, targets)
