"""MusicXML 4.0 (partwise): lead sheets, parts and scores to publish, and strains to engrave.

One MusicXML measure is a section of the cycle; the one that opens a cycle carries its number, the
lines inside a cycle are dashed. The notes have ids: see ``note_ids``.
"""

from __future__ import annotations

import io
from collections.abc import Collection, Iterable, Iterator, Sequence
from fractions import Fraction
from typing import Literal

from lxml import etree

import cyclechart
from cyclechart.arrange.sheet.model import KIND_OF, Reader, Sheet, Strain, suffix
from cyclechart.theory.cycle import Cycle
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.measures import PartContext, StrainWriter
from cyclechart.write.musicxml.part_list import add_instruments
from cyclechart.write.musicxml.staff import clean_text, plain_number

_DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN"'
    ' "http://www.musicxml.org/dtds/partwise.dtd">'
)

PartKind = Literal["melody", "strokes"]
_PARTS: dict[PartKind, str] = {"melody": "Melody", "strokes": "Hand drums"}


def score_xml(sheet: Sheet) -> bytes:
    """The published lead sheet: a part for the melody, one for the hand drums where a line has
    strokes.

    The strains follow one another; what a part does not play it rests. The same sheet gives the
    same bytes.
    """
    held = {strain.kind for strain in sheet.strains}
    kinds: list[PartKind] = [kind for kind in _PARTS if kind in held] or ["melody"]
    listed = etree.Element("part-list")
    for number, kind in enumerate(kinds, start=1):
        part = _sub(listed, "score-part", id=f"P{number}")
        _sub(part, "part-name").text = _PARTS[kind]
    document = PartContext(sheet, sheet.strains, engraved=False)
    parts = (_part_measures(document, kind, heads=kind == kinds[0]) for kind in kinds)
    return _score_bytes([*_header(sheet), listed], parts)


def part_xml(sheet: Sheet) -> bytes:
    """The published part of one player."""
    return band_xml([sheet])


def band_xml(sheets: Sequence[Sheet]) -> bytes:
    """The parts of several players who have the same measures, as one score; at least one."""
    listed = etree.Element("part-list")
    for number, sheet in enumerate(sheets, start=1):
        add_instruments(listed, number, _reader_of(sheet))
    # One grid for all: the parts of a score are read side by side.
    strains = tuple(strain for sheet in sheets for strain in sheet.strains)
    documents = [PartContext(sheet, strains, engraved=False) for sheet in sheets]
    parts = (
        _part_measures(document, _part_kind(document.sheet), heads=number == 0, number=number + 1)
        for number, document in enumerate(documents)
    )
    return _score_bytes([*_header(sheets[0]), listed], parts)


def _reader_of(sheet: Sheet) -> Reader:
    if sheet.reader is None:
        raise ValueError("a lead sheet is no part")
    return sheet.reader


def _part_kind(sheet: Sheet) -> str:
    return KIND_OF[_reader_of(sheet).staff]


def _header(sheet: Sheet) -> list[Element]:
    work = etree.Element("work")
    _sub(work, "work-title").text = clean_text(sheet.title)
    identification = etree.Element("identification")
    if sheet.composer:
        _sub(identification, "creator", type="composer").text = clean_text(sheet.composer)
    software = _sub(_sub(identification, "encoding"), "software")
    software.text = f"cyclechart {cyclechart.__version__}"
    return [work, identification]


def _part_measures(
    document: PartContext, kind: str, *, heads: bool, number: int = 0
) -> Iterator[Element]:
    """The measures of a part; ``heads``: with tempo, letters and names of the strains."""
    base = 0
    before: Cycle | Literal["free"] | None = None
    signs: dict[str, int] | None = None
    for strain in document.sheet.strains:
        if not strain.measures:
            continue
        meter: Cycle | Literal["free"] = "free" if strain.free else strain.cycle
        numbers = strain.places if document.sheet.reader else tuple(_measure_numbers(strain, base))
        writer = StrainWriter(
            document, strain, kind, numbers, opens_part=before is None, part=number
        )
        changed = signs is not None and signs != strain.key.alters
        made = writer.measures(
            time=meter != before,
            key=changed,
            heading=_strain_heading(document.sheet, strain) if heads else (),
        )
        yield from made
        base += max([1, *(measure.cycle for measure in strain.measures)])
        before, signs = meter, strain.key.alters
    if before is None:
        yield etree.Element("measure", number="1")


def strain_xml(
    sheet: Sheet, strain: Strain, *, first: bool, breaks: Collection[int] | None = None
) -> bytes:
    """One strain alone, for engraving: no title, tempo or letter, which stand beside it.

    ``first`` shows the time signature; ``breaks`` are the indices of the measures before which a
    new system begins.
    """
    return strains_xml([sheet], [strain], first=first, breaks=breaks)


def strains_xml(
    sheets: Sequence[Sheet],
    strains: Sequence[Strain],
    *,
    first: bool,
    breaks: Collection[int] | None = None,
) -> bytes:
    """The same strain of several players' sheets, one over the other, for engraving."""
    listed = etree.Element("part-list")
    several = len(sheets) > 1
    for number, sheet in enumerate(sheets, start=1):
        name = _sub(_sub(listed, "score-part", id=f"P{number}"), "part-name")
        if several and sheet.reader is not None:
            name.text = clean_text(sheet.reader.player)
    documents = [PartContext(sheet, tuple(strains), engraved=True) for sheet in sheets]
    parts = (
        _strain_measures(document, strain, first, breaks or (), number + 1 if several else 0)
        for number, (document, strain) in enumerate(zip(documents, strains, strict=True))
    )
    return _score_bytes([listed], parts)


def _strain_measures(
    document: PartContext, strain: Strain, first: bool, breaks: Collection[int], number: int
) -> Iterator[Element]:
    reads = document.sheet.reader is not None
    numbers = strain.places if reads else tuple(_measure_numbers(strain, 0))
    writer = StrainWriter(document, strain, strain.kind, numbers, opens_part=True, part=number)
    # Even a hidden time signature takes its room from the engraver.
    return writer.measures(time=first, key=False, breaks=breaks)


def _score_bytes(heads: Iterable[Element], parts: Iterable[Iterable[Element]]) -> bytes:
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


def _measure_numbers(strain: Strain, base: int) -> Iterator[str]:
    """Measure numbers of a lead sheet, each once: a cycle's own on its first measure, then 1b, 1c …

    ``base`` is the number of the last cycle before the strain; a later strain's pickup is named
    after it (X4, X4b), the first one's is 0. (Of 1.2 some readers make a twelfth measure.)
    """
    cycle, count = -1, 0
    for measure in strain.measures:
        count = count + 1 if measure.cycle == cycle else 1
        cycle = measure.cycle
        name = f"X{base}" if cycle == 0 and base else str(base + cycle)
        yield name + (suffix(count) if count > 1 else "")


def _strain_heading(sheet: Sheet, strain: Strain) -> Iterator[Element]:
    """The strain's letter and name; over the first one the tempo, in a part wherever it changes."""
    direction = _direction()
    _sub(_sub(direction, "direction-type"), "rehearsal").text = strain.letter
    name = strain.name
    if sheet.reader is not None:
        name = ", ".join(filter(None, [strain.name, strain.remark, strain.tones]))
    elif len(sheet.cycles) > 1 and not strain.free:
        name = f"{strain.name}, in {strain.cycle.name}"
    _sub(_sub(direction, "direction-type"), "words").text = clean_text(name)
    yield direction
    tempo = strain.tempo if sheet.reader is not None else None
    if tempo is None and strain is sheet.strains[0]:
        tempo = sheet.tempo
    if tempo is not None:
        yield _tempo(tempo)


def _tempo(tempo: Fraction) -> Element:
    said = plain_number(tempo)
    direction = _direction()
    metronome = _sub(_sub(direction, "direction-type"), "metronome")
    _sub(metronome, "beat-unit").text = "quarter"
    _sub(metronome, "per-minute").text = said
    _sub(direction, "sound", tempo=said)
    return direction


def _direction() -> Element:
    return etree.Element("direction", placement="above")
