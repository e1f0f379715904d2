"""A strain engraved: its MusicXML drawn as SVG, one picture a system.

Two passes. The first draws the strain on one endless line and reads how wide each measure wants
to be; then cycles are dealt out to systems so that none is squeezed, and the second draws those.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise
from typing import Any

import verovio

from cyclechart.arrange.sheet.courtesies import Courtesy, courtesies, courtesy_before
from cyclechart.arrange.sheet.measures import Measure
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.write.engraving.drawing import Drawing
from cyclechart.write.engraving.engraver_facts import MUSIC_FONT
from cyclechart.write.engraving.mei_brackets import add_brackets, needs_brackets
from cyclechart.write.engraving.system_fixes import fixed_drawings, fixed_score_drawings
from cyclechart.write.musicxml.document import strain_xml, strains_xml, with_breaks
from cyclechart.write.musicxml.measure_contents import measure_contents, ticks_per_beat
from cyclechart.write.musicxml.note_ids import written_values

PAGE_WIDTH = 1900
"""Width of a system in the engraver's units; a staff is 72 high (6.8 mm on a line of 180 mm)."""

MARGIN = 18
"""Left of the staff, for the cycle number above its beginning."""

ROOMY = 0.97
"""A system is filled up to so much of its width by what its measures want."""

SMALL = 0.75
"""A strain that would be drawn smaller has its widest sections cut, at beats that are struck."""

CLOSER = 1.1
"""A little more is taken where it lets a landing stay with its cycle: the strain is then drawn
smaller, never squeezed."""

_BASE: dict[str, Any] = {
    "adjustPageHeight": True,
    "footer": "none",
    "header": "none",
    "defaultBottomMargin": 1.5,
    "font": MUSIC_FONT,
    "lyricTopMinMargin": 3.0,
    "lyricHeightFactor": 1.3,
    "measureMinWidth": 30,
    "mnumInterval": 0,
    "multiRestStyle": "block",
    "pageMarginBottom": 8,
    "pageMarginLeft": MARGIN,
    "pageMarginRight": 0,
    "pageMarginTop": 16,
    "svgFormatRaw": True,
    "svgViewBox": True,
    "xmlIdChecksum": True,
}
_ENDLESS = {**_BASE, "adjustPageWidth": True, "breaks": "none", "pageWidth": 60_000}
_SYSTEMS = {
    **_BASE,
    "adjustPageWidth": False,
    "breaks": "line",
    "pageHeight": 60_000,
    "pageWidth": PAGE_WIDTH,
    "systemMaxPerPage": 1,
}
_MEASURE = re.compile(r'<g [^>]*class="measure"')
_STAFF_LINE = re.compile(r'<path d="M(\d+) \d+ L(\d+) \d+"')


class EngravingError(Exception):
    """The engraver refused a document that we wrote: a bug of ours."""


@dataclass(frozen=True)
class Engraved:
    """The systems of a strain, and the size they are drawn at (1 is the common size)."""

    drawings: list[Drawing]
    size: float
    measures: tuple[Measure, ...] = ()
    """Of one strain: as they are drawn, some cut."""

    @property
    def systems(self) -> list[str]:
        """Each system as an SVG document."""
        return [drawing.svg for drawing in self.drawings]


@lru_cache(maxsize=1)
def _toolkit() -> Any:
    verovio.enableLog(verovio.LOG_OFF)
    return verovio.toolkit()


def engrave(
    sheet: Sheet,
    strain: Strain,
    *,
    first: bool,
    line: int = PAGE_WIDTH,
    courtesy: Courtesy | None = None,
) -> Engraved:
    """Draw a strain. ``first``: the first in its cycle, which shows the time signature; ``line``:
    how long a system is, in the engraver's units; ``courtesy``: the signatures at its end."""
    plain, widths, lead = _measured(sheet, strain, first, courtesy)
    breaks, fullest = deal(strain.measures, widths, lead, line)
    cuts: set[Fraction] = set()
    finer = strain
    wide = {i for i, width in enumerate(widths) if width > _room(lead, line) * ROOMY}
    for places in (struck_beats, struck_within_beats):
        if fullest > ROOMY / SMALL:
            cuts |= places(sheet, strain, wide)
            finer = cut_at(strain, cuts)
            measured = _measured(sheet, finer, first, courtesy)
            breaks, fullest = deal(finer.measures, *measured[1:], line)
    if cuts:
        # The pieces of a section that share a system are one measure again.
        heads = {finer.measures[i].start for i in breaks}
        strain = cut_at(strain, heads)
        breaks = [i for i, measure in enumerate(strain.measures) if measure.start in heads]
    if cuts:
        plain = strain_xml(sheet, strain, first=first, breaks=breaks, courtesy=courtesy)
    elif breaks:
        plain = with_breaks(plain, strain.measures, breaks, courtesy=courtesy is not None)
    # A landing alone on its system is left ragged; a system of whole cycles fills the line.
    last = list(_cycles(strain.measures))[-1]
    alone = bool(breaks) and breaks[-1] == last[0]
    ragged = alone and _is_landing(strain.measures, last)
    options = {**_SYSTEMS, "minLastJustification": 0.8 if ragged else 0.0, "pageWidth": line}
    # An overfull system would be broken or squeezed by the engraver: a longer line, shown smaller.
    if fullest > ROOMY:
        options["pageWidth"] = int(line * fullest / ROOMY)
    pages = _draw(plain, options, strain)
    if courtesy is not None:
        pages.pop()
    drawings = fixed_drawings(pages, strain)
    return Engraved(drawings, line / options["pageWidth"], strain.measures)


def engrave_sheet(sheet: Sheet, line: int = PAGE_WIDTH) -> dict[str, list[str]]:
    """The systems of each strain that is not silent, by its letter."""
    drawn = [strain for strain in sheet.strains if not strain.silent]
    return {
        strain.letter: engrave(
            sheet, strain, first=strain.first, line=line, courtesy=courtesy
        ).systems
        for strain, courtesy in zip(drawn, courtesies(drawn), strict=True)
    }


def engrave_score(
    sheets: Sequence[Sheet],
    at: int,
    *,
    first: bool,
    line: int = PAGE_WIDTH,
    following: int | None = None,
) -> Engraved:
    """Draw the strain of an index of several sheets that have the same measures, one under the
    other; ``line`` as for ``engrave``; ``following``: the index of the next strain drawn."""
    strains = [sheet.strains[at] for sheet in sheets]
    measures = strains[0].measures
    ahead = score_courtesies(sheets, at, following)
    plain = strains_xml(sheets, strains, first=first, courtesies=ahead)
    widths, lead = _natural(_draw(plain, _ENDLESS)[0], len(measures), courtesy=bool(ahead))
    breaks, fullest = deal(measures, widths, lead, line)
    plain = with_breaks(plain, measures, breaks, courtesy=bool(ahead))
    width = int(line * max(1, fullest / ROOMY))
    options = {**_SYSTEMS, "minLastJustification": 0.0, "pageWidth": width}
    pages = _draw(plain, options, *strains)
    if ahead:
        pages.pop()
    drawings = fixed_score_drawings(pages, strains)
    return Engraved(drawings, line / width)


def score_courtesies(
    sheets: Sequence[Sheet], at: int, following: int | None
) -> list[Courtesy | None]:
    """The courtesy on each staff of a score between two strains; nothing where no meter changes.

    The engraver takes a change of key in one staff for one in all, which transposing parts belie:
    a score announces meters alone.
    """
    if following is None:
        return []
    ahead = [courtesy_before(sheet.strains[at], sheet.strains[following]) for sheet in sheets]
    if not any(one is not None and one.cycle is not None for one in ahead):
        return []
    return [one and replace(one, key=None) for one in ahead]


def _measured(
    sheet: Sheet, strain: Strain, first: bool, courtesy: Courtesy | None
) -> tuple[bytes, list[int], int]:
    """The strain's document, and as ``_natural`` its measures' widths and its lead."""
    plain = strain_xml(sheet, strain, first=first, courtesy=courtesy)
    drawn = _draw(plain, _ENDLESS)[0]
    return plain, *_natural(drawn, len(strain.measures), courtesy=courtesy is not None)


def struck_beats(sheet: Sheet, strain: Strain, wide: Collection[int]) -> set[Fraction]:
    """The places in the ``wide`` measures (their indices) where a note or rest begins on a beat.

    No tie or tuplet crosses such a place, so that a cut leaves the notes spelled as they are. In a
    long rest there is one after every whole rest.
    """
    beat = ticks_per_beat([strain])
    found = set()
    measures = zip(strain.measures, measure_contents(strain, beat), strict=True)
    for index, (measure, filled) in enumerate(measures):
        if index not in wide:
            continue
        for (start, end), rest in zip(pairwise(filled.bounds), filled.rests, strict=True):
            line = start + (filled.lead - start) % beat
            cuts = range(line, end, 4 * beat) if rest else range(line, start + 1)
            found |= {measure.start + Fraction(at, beat) for at in cuts if at}
    return found


def struck_within_beats(sheet: Sheet, strain: Strain, wide: Collection[int]) -> set[Fraction]:
    """The places in the ``wide`` measures where a written note or rest begins that is tied to none
    before it and stands in no tuplet that goes on: what is left where beats are too full."""
    beat = ticks_per_beat([strain])
    found = set()
    for index, (measure, filled) in enumerate(
        zip(strain.measures, measure_contents(strain, beat), strict=True)
    ):
        inside = False
        if index not in wide or filled.rests == (True,):
            continue
        for piece, _ in written_values(filled, beat):
            if piece.start and not inside and not piece.from_tie:
                found.add(measure.start + Fraction(piece.start, beat))
            inside = (inside or piece.opens) and not piece.closes
    return found


def cut_at(strain: Strain, times: Collection[Fraction]) -> Strain:
    """The strain with its measures cut at these times."""
    cut = [piece for measure in strain.measures for piece in measure.cut(times)]
    return replace(strain, measures=tuple(cut))


def _draw(document: bytes, options: dict[str, Any], *strains: Strain) -> list[str]:
    """The pages of a document, as they are drawn; with the brackets of its strains, where they are
    given."""
    toolkit = _toolkit()
    toolkit.resetOptions()
    toolkit.setOptions(options)
    toolkit.resetXmlIdSeed(1)
    if not toolkit.loadData(document.decode()):
        raise EngravingError("the engraver could not load the strain")
    if any(map(needs_brackets, strains)) and not toolkit.loadData(
        add_brackets(toolkit.getMEI(), strains)
    ):
        raise EngravingError("the engraver could not load the strain with its brackets")
    return [toolkit.renderToSVG(page) for page in range(1, toolkit.getPageCount() + 1)]


def _natural(svg: str, count: int, *, courtesy: bool = False) -> tuple[list[int], int]:
    """The natural width of each measure, and of the clef and signature that open a system.

    ``courtesy``: there is one at the end, whose signs the last measure makes room for.
    """
    spans = list(_spans(svg))
    if len(spans) != count + courtesy:
        raise EngravingError(f"{count} measures were written and {len(spans)} drawn")
    lead = _lead(svg, spans[0][0])
    widths = [end - start for start, end in spans]
    widths[0] -= lead
    if courtesy:
        widths.pop()
        last = list(_MEASURE.finditer(svg))[-1].start()
        widths[-1] += _lead(svg[last:], spans[-1][0])
    return widths, lead


def _spans(svg: str) -> Iterator[tuple[int, int]]:
    """From where to where each measure's first staff line runs."""
    for match in _MEASURE.finditer(svg):
        line = _STAFF_LINE.search(svg, match.end())
        if line:
            yield int(line[1]), int(line[2])


def _lead(svg: str, start: int) -> int:
    """The distance of the first note, rest or drum stroke from the beginning of the line."""
    content = re.search(r'class="(?:note|rest|mRest|graceGrp)"', svg)
    place = re.search(r"<use [^>]*translate\((\d+),", svg[content.start() :]) if content else None
    return max(0, int(place[1]) - start - 200) if place else 0


def _room(lead: int, line: int) -> int:
    """The width that the measures of a system may have together."""
    return (line - MARGIN) * 10 - lead


def deal(
    measures: Sequence[Measure], widths: Sequence[int], lead: int, line: int = PAGE_WIDTH
) -> tuple[list[int], float]:
    """Deal measures out to systems: the indices that begin one, and how full the fullest is.

    Systems break at first beats. A cycle wider than a system breaks at its sections; a section
    wider than a system overfills it (the figure is then above 1). A landing stands with the cycle
    before it where the two have room.
    """
    room = _room(lead, line)

    def wide(indices: Sequence[int]) -> int:
        return sum(widths[i] for i in indices)

    systems: list[list[list[int]]] = []
    for group in _cycles(measures):
        if wide(group) > room * CLOSER:
            systems += [[chunk] for chunk in _chunks(group, widths, room)]
            continue
        landing = _is_landing(measures, group)
        filled = sum(map(wide, systems[-1])) if systems else 0
        if systems and filled + wide(group) <= room * (CLOSER if landing else ROOMY):
            systems[-1].append(group)
        elif systems and landing and len(systems[-1]) > 1:
            systems.append([systems[-1].pop(), group])
        else:
            systems.append([group])
    breaks = [system[0][0] for system in systems[1:]]
    return breaks, max(sum(map(wide, system)) for system in systems) / room


def _chunks(group: Sequence[int], widths: Sequence[int], room: float) -> list[list[int]]:
    """A cycle too wide for a system, in as few runs of sections as fit, none much the fuller."""
    most = int(room * ROOMY)
    chunks = _run_up(group, widths, most)
    low = sum(widths[i] for i in group) // len(chunks)
    while low < most:
        limit = (low + most) // 2
        tried = _run_up(group, widths, limit)
        if len(tried) == len(chunks):
            chunks, most = tried, limit
        else:
            low = limit + 1
    return chunks


def _run_up(group: Sequence[int], widths: Sequence[int], most: int) -> list[list[int]]:
    """Runs of at most so wide, each taking what it can."""
    chunks: list[list[int]] = [[]]
    filled = 0
    for i in group:
        if chunks[-1] and filled + widths[i] > most:
            chunks.append([])
            filled = 0
        chunks[-1].append(i)
        filled += widths[i]
    return chunks


def _cycles(measures: Sequence[Measure]) -> Iterator[list[int]]:
    """The indices of the measures of each cycle; a pickup belongs to the cycle it leads into."""
    group: list[int] = []
    for index, measure in enumerate(measures):
        led_in = all(measures[i].start < 0 for i in group)
        if measure.opens and group and not led_in:
            yield group
            group = []
        group.append(index)
    if group:
        yield group


def _is_landing(measures: Sequence[Measure], group: list[int]) -> bool:
    """Return whether these are the last measures and less than a whole cycle, a landing."""
    return group[-1] == len(measures) - 1 and not measures[group[-1]].closes
