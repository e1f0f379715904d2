"""Time signatures that can be read: two rows apart on a staff of one line, sums not jammed.

The engraver sets the rows of a signature right upon each other, as five lines want it; on a staff
of one line nothing tells them apart. The numbers of a sum touch the + between them. Here the rows
are moved apart and the figures of a sum are narrowed, each about its own middle, so that no
signature needs more room and nothing else moves.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

from lxml import etree

from cyclechart.write.engraving.drawing import (
    USE,
    Drawing,
    Element,
    nearest_staff,
    staff_lines,
    used_glyph,
)
from cyclechart.write.engraving.engraver_facts import (
    GLYPH_PLACE,
    MUSIC_FONT,
    SIGNATURE_FIGURES,
    SIGNATURE_PLUSES,
)

APART = 45
"""The distance that each row is moved off a lone line; 180 units are a staff space."""

NARROWER = 0.86
"""The width of a sum's numbers, to their own."""

SMALLER = 0.72
"""The size of a sum's +, to its own."""


@dataclass(frozen=True)
class _Figure:
    """A figure of a signature, or a + in it, and where it stands."""

    element: Element
    code: str
    x: int
    y: int
    size: float

    @property
    def is_plus(self) -> bool:
        return self.code in SIGNATURE_PLUSES

    @property
    def end(self) -> float:
        return self.x + figure_widths()[self.code] * self.size


@lru_cache(maxsize=1)
def figure_widths() -> dict[str, int]:
    """Return the width of each figure of a signature and of the plus signs, in the font's units,
    from the table of glyphs that comes with the engraver."""
    table = etree.fromstring((files("verovio") / "data" / f"{MUSIC_FONT}.xml").read_bytes())
    wanted = SIGNATURE_FIGURES.keys() | SIGNATURE_PLUSES
    return {
        code: int(glyph.get("h-a-x", "0"))
        for glyph in table.iterfind("g")
        if (code := glyph.get("c", "")) in wanted
    }


def fix_time_signatures(drawing: Drawing) -> None:
    """Move the rows of each time signature apart and narrow its sums."""
    for signature in _signatures(drawing):
        figures = list(_figures(signature))
        lines = staff_lines(nearest_staff(signature))
        is_sum = any(figure.is_plus for figure in figures)
        for number in _numbers(figures):
            middle = (number[0].x + number[-1].end) / 2
            for figure in number:
                _place(figure, middle, lines, is_sum)


def _signatures(drawing: Drawing) -> Iterator[Element]:
    """The groups of each signature; several in a group of their own are one."""
    groups = drawing.groups["meterSigGrp"]
    yield from groups
    for signature in drawing.groups["meterSig"]:
        if not any(above in groups for above in signature.iterancestors()):
            yield signature


def _figures(signature: Element) -> Iterator[_Figure]:
    for use in signature.iter(USE):
        code = used_glyph(use)
        place = GLYPH_PLACE.match(use.get("transform", ""))
        if place and (code in SIGNATURE_FIGURES or code in SIGNATURE_PLUSES):
            yield _Figure(use, code, int(place[1]), int(place[2]), float(place[3]))


def _numbers(signature: Sequence[_Figure]) -> Iterator[list[_Figure]]:
    """Figures side by side that are one number, and each + alone."""
    number: list[_Figure] = []
    for figure in signature:
        follows = (
            number
            and figure.y == number[-1].y
            and not figure.is_plus
            and not number[-1].is_plus
            and abs(figure.x - number[-1].end) < 20
        )
        if number and not follows:
            yield number
            number = []
        number.append(figure)
    if number:
        yield number


def _place(figure: _Figure, middle: float, lines: Sequence[int], is_sum: bool) -> None:
    """Place a figure in its row; narrower about the ``middle`` of its number in a sum."""
    y, wide, high = figure.y, 1.0, 1.0
    if len(lines) == 1 and y != lines[0]:
        y += APART if y > lines[0] else -APART
    if is_sum:
        wide, high = (SMALLER, SMALLER) if figure.is_plus else (NARROWER, 1.0)
    x = middle + (figure.x - middle) * wide
    size = f"{figure.size * wide:.4g}, {figure.size * high:.4g}"
    figure.element.set("transform", f"translate({round(x)}, {y}) scale({size})")
