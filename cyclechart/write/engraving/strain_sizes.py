"""The sizes that a strain wants, read from its drawing on one endless line."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

from cyclechart.arrange.sheet.courtesies import Courtesy, courtesy_before
from cyclechart.arrange.sheet.measures import Measure
from cyclechart.arrange.sheet.model import Sheet, Strain
from cyclechart.write.engraving.condensing import players_by_measure, playing_sheets
from cyclechart.write.engraving.engraver import EngravingError, draw_endless
from cyclechart.write.engraving.section_cuts import cut_at
from cyclechart.write.musicxml.document import strain_xml, strains_xml

_MEASURE = re.compile(r'<g [^>]*class="measure"')
_STAFF_LINE = re.compile(r'<path d="M(\d+) \d+ L(\d+) \d+"')
_HEIGHTS_OF_SIGNS = re.compile(r'(?:translate\(-?\d+, |\b(?:y|cy)=")(-?\d+)')
_HEIGHT = re.compile(r'viewBox="0 0 \S+ ([\d.]+)"')
_STAFF = re.compile(r'class="staff"')
_CONTENT = re.compile(r'class="(note|rest|graceGrp|mRest|multiRest)"')
_CENTERED = ("mRest", "multiRest")
_SIGN = re.compile(r'class="(?:clef|keyAccid|meterSig)"')
_PLACE = re.compile(r"<use [^>]*translate\((\d+),")

BEFORE_NOTE = 200
"""The room before a note, for its accidental."""

SIGN = 300
"""The width of the last sign before the notes, with the space after it."""


@dataclass(frozen=True)
class MeasuredStrain:
    """A strain of a sheet, or of the sheets of a score, with the sizes that it wants.

    ``widths``: of its measures; ``lead``: of the clef and signature that open a system, both in
    tenths of the engraver's units; ``height``: of all of it on one line, in whole units;
    ``score``: it is drawn with names; ``opening``: it begins a score, with all staves.
    """

    sheets: tuple[Sheet, ...]
    strains: tuple[Strain, ...]
    first: bool
    document: bytes = b""
    widths: tuple[int, ...] = ()
    lead: int = 0
    height: float = 0.0
    ahead: tuple[Courtesy | None, ...] = ()
    """The courtesy at the end of each staff; () for none at all."""
    score: bool = False
    extents: tuple[tuple[int, int], ...] = ()
    """The top and the foot of what each measure shows, in tenths; () where that is not known."""
    opening: bool = True
    finer: dict[frozenset[Fraction], MeasuredStrain] = field(default_factory=dict, compare=False)
    """The same strain with its measures cut, by the places of the cuts, as far as was asked for."""

    @property
    def measures(self) -> tuple[Measure, ...]:
        """Its measures."""
        return self.strains[0].measures

    @cached_property
    def playing(self) -> list[frozenset[int]]:
        """The players, by their indices, who have a note in each measure."""
        return players_by_measure(self.strains)

    def cut(self, places: frozenset[Fraction]) -> MeasuredStrain:
        """Return the strain with its measures cut at some places."""
        if places not in self.finer:
            strains = tuple(cut_at(strain, places) for strain in self.strains)
            cut = replace(self, strains=strains, finer={})
            self.finer[places] = _measured(cut)
        return self.finer[places]

    def written(self, breaks: Collection[int] | None = None) -> bytes:
        """Return its document, with systems that begin at the measures of some indices."""
        if self.score:
            return strains_xml(
                self.sheets,
                self.strains,
                first=self.first,
                breaks=breaks,
                opening=self.opening,
                courtesies=self.ahead,
            )
        courtesy = self.ahead[0] if self.ahead else None
        return strain_xml(
            self.sheets[0], self.strains[0], first=self.first, breaks=breaks, courtesy=courtesy
        )


def measure_strain(
    sheet: Sheet, strain: Strain, *, first: bool, courtesy: Courtesy | None = None
) -> MeasuredStrain:
    """Return a strain with the sizes it wants. ``first``: the first in its cycle, which shows the
    time signature; ``courtesy``: the signatures at its end."""
    ahead = () if courtesy is None else (courtesy,)
    return _measured(MeasuredStrain((sheet,), (strain,), first, ahead=ahead))


def measure_score(
    sheets: Sequence[Sheet],
    at: int,
    *,
    first: bool,
    opening: bool = True,
    following: int | None = None,
) -> MeasuredStrain:
    """Return the strain of an index of several sheets that have the same measures, with the sizes
    it wants, one staff under the other.

    ``opening``: it begins the score: all its staves are drawn, with their full names. Later, staves
    that rest through a strain are left out where that saves several. ``following``: the index of
    the next strain drawn.
    """
    if not opening:
        sheets = playing_sheets(sheets, at)
    strains = tuple(sheet.strains[at] for sheet in sheets)
    ahead = score_courtesies(sheets, at, following)
    return _measured(
        MeasuredStrain(tuple(sheets), strains, first, ahead=ahead, score=True, opening=opening)
    )


def score_courtesies(
    sheets: Sequence[Sheet], at: int, following: int | None
) -> tuple[Courtesy | None, ...]:
    """Return the courtesy on each staff of a score between two strains; nothing where no meter
    changes.

    The engraver takes a change of key in one staff for one in all, which transposing parts belie:
    a score announces meters alone.
    """
    if following is None:
        return ()
    ahead = [courtesy_before(sheet.strains[at], sheet.strains[following]) for sheet in sheets]
    if not any(one is not None and one.cycle is not None for one in ahead):
        return ()
    return tuple(one and replace(one, key=None) for one in ahead)


def _measured(strain: MeasuredStrain) -> MeasuredStrain:
    """Return a strain, known without its sizes, with them."""
    document = strain.written()
    wide = any(sheet.script for sheet in strain.sheets)
    svg = draw_endless(document, wide_names=wide)
    spans = list(_spans(svg))
    count = len(strain.measures)
    if len(spans) != count + bool(strain.ahead):
        raise EngravingError(f"{count} measures were written and {len(spans)} drawn")
    starts = [match.start() for match in _MEASURE.finditer(svg)]
    drawn = [svg[start:end] for start, end in pairwise([*starts, len(svg)])]
    lead = _lead(drawn[0], spans[0][0])
    widths = [end - start for start, end in spans]
    widths[0] -= lead
    if strain.ahead:
        # The last measure makes room for the signs of the courtesy.
        widths.pop()
        widths[-1] += _lead(drawn[-1], spans[-1][0])
    if strain.score:  # the names and brackets before its staves take room from its measures
        lead += spans[0][0]
    height = _HEIGHT.search(svg)
    return replace(
        strain,
        document=document,
        widths=tuple(widths),
        lead=lead,
        height=float(height[1]) if height else 0.0,
        extents=tuple(map(_extent, drawn[:count])),
    )


def _extent(svg: str) -> tuple[int, int]:
    """Return about the top and the foot of a measure's drawing: the places of its signs."""
    heights = list(map(int, _HEIGHTS_OF_SIGNS.findall(svg)))
    return min(heights), max(heights)


def _spans(svg: str) -> Iterator[tuple[int, int]]:
    """Yield from where to where each measure's first staff line runs."""
    for match in _MEASURE.finditer(svg):
        line = _STAFF_LINE.search(svg, match.end())
        if line:
            yield int(line[1]), int(line[2])


def _lead(measure: str, start: int) -> int:
    """Return the width of the signs that open a measure: up to the first note of any staff, with
    room for its accidental, or where all rest, past the last sign. A rest that is set in the middle
    of its measure says nothing of them."""
    notes, signs = [], []
    for staff in _STAFF.split(measure)[1:]:
        content = _CONTENT.search(staff)
        end = content.start() if content else len(staff)
        if content and content[1] not in _CENTERED:
            notes += [int(place[1]) for place in [_PLACE.search(staff, end)] if place]
        opening = (_PLACE.search(staff, sign.end(), end) for sign in _SIGN.finditer(staff, 0, end))
        signs += [int(place[1]) for place in opening if place]
    if notes:
        return max(0, min(notes) - start - BEFORE_NOTE)
    return max(0, max(signs) - start + SIGN) if signs else 0
