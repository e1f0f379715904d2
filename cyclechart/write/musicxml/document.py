"""MusicXML 4.0 (partwise): lead sheets, parts and scores to publish, and strains to engrave.

One MusicXML measure is a section of the cycle. The measure that opens a cycle carries its number;
the lines inside a cycle are dashed. The notes have ids: see ``note_ids``.
"""

from __future__ import annotations

import io
import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import accumulate
from typing import Literal

from lxml import etree

import cyclechart
from cyclechart.arrange.sheet.courtesies import Courtesy
from cyclechart.arrange.sheet.measures import Measure
from cyclechart.arrange.sheet.model import (
    STRAIN_KINDS,
    Reader,
    Sheet,
    Strain,
    StrainKind,
    measure_suffix,
)
from cyclechart.theory.cycle import Cycle
from cyclechart.write.musicxml.elements import Element
from cyclechart.write.musicxml.elements import sub_element as _sub
from cyclechart.write.musicxml.measures import PartContext, StrainWriter
from cyclechart.write.musicxml.part_list import engraved_part_list, published_part_list
from cyclechart.write.musicxml.signatures import courtesy_measure
from cyclechart.write.musicxml.staff import clean_text, plain_number

_DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN"'
    ' "http://www.musicxml.org/dtds/partwise.dtd">'
)

_PARTS: dict[StrainKind, str] = {"melody": "Melody", "strokes": "Hand drums", "kit": "Drum kit"}


def score_xml(sheet: Sheet) -> bytes:
    """Return the published lead sheet: a part for the melody, and one each for the hand drums and
    the kit where they have lines.

    The strains follow one another; a part rests in the strains of the other. The same sheet gives
    the same bytes.
    """
    in_sheet = {strain.kind for strain in sheet.strains}
    kinds: list[StrainKind] = [kind for kind in _PARTS if kind in in_sheet] or ["melody"]
    part_list = etree.Element("part-list")
    for number, kind in enumerate(kinds, start=1):
        part = _sub(part_list, "score-part", id=f"P{number}")
        _sub(part, "part-name").text = _PARTS[kind]
    context = PartContext(sheet, sheet.strains, engraved=False)
    parts = (_part_measures(context, kind, heads=kind == kinds[0]) for kind in kinds)
    return _score_bytes([*_header(sheet), part_list], parts)


def part_xml(sheet: Sheet) -> bytes:
    """Return the published part of one player."""
    return band_xml([sheet])


def band_xml(sheets: Sequence[Sheet]) -> bytes:
    """Return the parts of players who have the same measures, as one score; at least one part."""
    part_list = published_part_list(
        list(map(_reader_of, sheets)), [sheet.drums for sheet in sheets]
    )
    # One grid for all: the parts of a score are read side by side.
    strains = tuple(strain for sheet in sheets for strain in sheet.strains)
    contexts = [PartContext(sheet, strains, engraved=False) for sheet in sheets]
    parts = (
        _part_measures(context, _part_kind(context.sheet), heads=number == 0, number=number + 1)
        for number, context in enumerate(contexts)
    )
    return _score_bytes([*_header(sheets[0]), part_list], parts)


def _reader_of(sheet: Sheet) -> Reader:
    if sheet.reader is None:
        raise ValueError("a lead sheet is no part")
    return sheet.reader


def _part_kind(sheet: Sheet) -> str:
    return STRAIN_KINDS[_reader_of(sheet).staff]


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
    context: PartContext, kind: str, *, heads: bool, number: int = 0
) -> Iterator[Element]:
    """Yield the measures of a part; ``heads``: with tempo, letters and names of the strains."""
    base = 0
    before: Cycle | Literal["free"] | None = None
    signs: dict[str, int] | None = None
    for strain in context.sheet.strains:
        if not strain.measures:
            continue
        meter: Cycle | Literal["free"] = "free" if strain.free else strain.cycle
        numbers = strain.places if context.sheet.reader else tuple(_measure_numbers(strain, base))
        writer = StrainWriter(
            context, strain, kind, numbers, opens_part=before is None, part=number
        )
        changed = signs is not None and signs != strain.key.alters
        yield from writer.measures(
            time=meter != before,
            key=changed,
            heading=_strain_heading(context.sheet, strain) if heads else (),
        )
        base += max([1, *(measure.cycle for measure in strain.measures)])
        before, signs = meter, strain.key.alters
    if before is None:
        yield etree.Element("measure", number="1")


def strain_xml(
    sheet: Sheet,
    strain: Strain,
    *,
    first: bool,
    breaks: Collection[int] | None = None,
    courtesy: Courtesy | None = None,
) -> bytes:
    """Return one strain for engraving, without title, tempo and letter, which the page sets.

    ``first``: it shows the time signature; ``breaks``: the indices of the measures before which a
    new system begins; ``courtesy``: the signatures at its end. These stand in a further measure, on
    a system of its own.
    """
    return strains_xml(
        [sheet], [strain], first=first, breaks=breaks, courtesies=(courtesy,) if courtesy else ()
    )


def strains_xml(
    sheets: Sequence[Sheet],
    strains: Sequence[Strain],
    *,
    first: bool,
    breaks: Collection[int] | None = None,
    opening: bool = True,
    courtesies: Sequence[Courtesy | None] = (),
) -> bytes:
    """Return the same strain of several players' sheets for engraving, a staff each.

    ``opening``: the first of a score, with the full names of the players; ``courtesies``: one a
    staff, or none at all.
    """
    several = len(sheets) > 1
    readers = [sheet.reader for sheet in sheets if sheet.reader is not None]
    if any(reader.short for reader in readers) or several:
        part_list = engraved_part_list(readers, opening=opening)
    else:
        part_list = etree.Element("part-list")
        _sub(_sub(part_list, "score-part", id="P1"), "part-name")
    contexts = [PartContext(sheet, tuple(strains), engraved=True) for sheet in sheets]
    parts = (
        _strain_measures(
            context,
            strain,
            first,
            breaks or (),
            number + 1 if several else 0,
            (courtesies[number] or Courtesy(None, None)) if courtesies else None,
        )
        for number, (context, strain) in enumerate(zip(contexts, strains, strict=True))
    )
    return _score_bytes([part_list], parts)


def with_breaks(
    document: bytes,
    measures: Sequence[Measure],
    breaks: Collection[int],
    *,
    courtesy: bool = False,
) -> bytes:
    """A document of ``strains_xml`` without breaks, with those before the measures of these
    indices: the same as one that is written with them. ``courtesy``: it has a courtesy."""
    # A long rest is several measures there.
    counts = [max(1, measure.rests) for measure in measures] + [1] * courtesy
    starts = [0, *accumulate(counts)]
    places = {starts[index] for index in breaks}
    number = -1

    def broken(match: re.Match[bytes]) -> bytes:
        nonlocal number
        number = (number + 1) % starts[-1]
        return match[0] + (_BREAK if number in places else b"")

    return _MEASURE.sub(broken, document)


_MEASURE = re.compile(rb"<measure [^>]*>\n")
_BREAK = b'  <print new-system="yes"/>\n'


def _strain_measures(
    context: PartContext,
    strain: Strain,
    first: bool,
    breaks: Collection[int],
    number: int,
    courtesy: Courtesy | None,
) -> Iterator[Element]:
    is_part = context.sheet.reader is not None
    numbers = strain.places if is_part else tuple(_measure_numbers(strain, 0))
    writer = StrainWriter(context, strain, strain.kind, numbers, opens_part=True, part=number)
    # Even a hidden time signature takes its room from the engraver.
    yield from writer.measures(time=first, key=False, breaks=breaks)
    if courtesy is not None:
        yield courtesy_measure(courtesy, strain.key, context.beat)


def _score_bytes(heads: Iterable[Element], parts: Iterable[Iterable[Element]]) -> bytes:
    """Return the document. It is written measure by measure, which keeps only one in memory."""
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
    """Yield the unique measure numbers of a lead sheet: that of a cycle, then 1b, 1c …

    ``base``: the number of the last cycle before the strain. The pickup of a later strain is named
    after it (X4, X4b), that of the first strain is 0. (Some readers take 1.2 for a twelfth
    measure.)
    """
    cycle, count = -1, 0
    for measure in strain.measures:
        count = count + 1 if measure.cycle == cycle else 1
        cycle = measure.cycle
        name = f"X{base}" if cycle == 0 and base else str(base + cycle)
        yield name + (measure_suffix(count) if count > 1 else "")


def _strain_heading(sheet: Sheet, strain: Strain) -> Iterator[Element]:
    """Yield the directions over a strain: letter and name, and the tempo over the first one and
    wherever it changes. A coda within a step has its sign alone."""
    if strain.continues:
        return
    direction = _direction()
    _sub(_sub(direction, "direction-type"), "rehearsal").text = strain.letter
    name = strain.name
    if sheet.reader is not None:
        name = ", ".join(filter(None, [strain.name, strain.remark, strain.note, strain.tones]))
    elif len(sheet.cycles) > 1 and not strain.free:
        name = f"{strain.name}, in {strain.cycle.name}"
    _sub(_sub(direction, "direction-type"), "words").text = clean_text(name)
    yield direction
    tempo = strain.tempo
    if tempo is None and strain is sheet.strains[0]:
        tempo = sheet.tempo
    if tempo is not None:
        yield _tempo(tempo)


def _tempo(tempo: Fraction) -> Element:
    shown = plain_number(tempo)
    direction = _direction()
    metronome = _sub(_sub(direction, "direction-type"), "metronome")
    _sub(metronome, "beat-unit").text = "quarter"
    _sub(metronome, "per-minute").text = shown
    _sub(direction, "sound", tempo=shown)
    return direction


def _direction() -> Element:
    return etree.Element("direction", placement="above")
