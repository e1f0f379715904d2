"""Texts of complex scripts inside an engraved picture, drawn as outlines.

Text inside an SVG loses its advances and its joined letters on the page, so what is not Latin is
shaped here and drawn as a path, with its text beside it as a title.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from itertools import groupby
from typing import Any
from xml.etree import ElementTree

from cyclechart.text.direction import as_drawn, levels
from cyclechart.text.display import JOINER, is_mark, tidy
from cyclechart.write.files.fonts import (
    FAMILIES,
    PLAIN,
    Family,
    face,
    family_of,
    installed,
    needs_more,
)

_TEXT = re.compile(r"<text\b[^>]*[^/]>.*?</text>", re.DOTALL)
_NUMBER = re.compile(r"-?[\d.]+")
_REFERENCE = re.compile(r"&#(x[0-9A-Fa-f]+|\d+);")

BOLD, REGULAR = 700, 400


@dataclass(frozen=True)
class Piece:
    """Some text in one size (in the picture's units) and weight."""

    text: str
    size: float
    weight: int = REGULAR


@dataclass(frozen=True)
class Run:
    """Text of one font and one level of direction."""

    text: str
    family: Family
    size: float
    weight: int
    level: int
    """Odd where it runs from right to left."""


@dataclass(frozen=True)
class Glyph:
    """A glyph of a shaped run: its number, how far it moves on, and its offset; in font units."""

    number: int
    advance: int
    dx: int
    dy: int


def outlined(svg: str) -> str:
    """A picture whose texts in other scripts than Latin are outlines; all others are untouched.

    Without the plain font, which is needed beside any other, and with nothing to do it is the
    picture itself.
    """
    if not _may_need(svg) or installed(PLAIN) is None:
        return svg
    return _TEXT.sub(_outline, svg)


def _may_need(svg: str) -> bool:
    return needs_more(svg) or bool(_REFERENCE.search(svg))


def _outline(match: re.Match[str]) -> str:
    if not _may_need(match[0]):
        return match[0]
    element = ElementTree.fromstring(match[0])
    pieces = list(_pieces(element, 0, REGULAR))
    text = "".join(piece.text for piece in pieces)
    if not any(needs_more(sign) and family_of(sign) for sign in text):
        return match[0]
    runs = as_drawn(runs_of(pieces), lambda run: run.level)
    width = sum(run_width(run) for run in runs)
    share = {"middle": 0.5, "end": 1.0}.get(element.get("text-anchor", ""), 0.0)
    x, y = float(element.get("x", "0")), float(element.get("y", "0"))
    label = escape(text)
    # The picture's style sheet gives every path a stroke; a style of its own goes before it.
    return (
        f'<g class="outlined" role="img" aria-label="{label}"><title>{label}</title>'
        f'<path style="stroke:none" fill="currentColor" d="{_path(runs, x - share * width, y)}" />'
        "</g>"
    )


def _pieces(element: ElementTree.Element, size: float, weight: int) -> Iterator[Piece]:
    """The texts within an element, each with the size and weight that hold there."""
    number = _NUMBER.match(element.get("font-size", ""))
    size = float(number[0]) if number else size
    given = element.get("font-weight")
    weight = weight if given is None else BOLD if given in ("bold", "700") else REGULAR
    if len(element) == 0:
        plain = tidy(element.text or "")
        if plain:
            yield Piece(plain, size, weight)
    for child in element:
        yield from _pieces(child, size, weight)
        # What follows a part within its own line; the engraver's own indentation does not count.
        if child.tail and child.tail.strip():
            yield Piece(tidy(child.tail), size, weight)


def runs_of(pieces: Sequence[Piece]) -> list[Run]:
    """Pieces cut where the font or the direction changes, in the order they are written."""
    signs = [
        (sign, family, piece.size, piece.weight)
        for piece in pieces
        for sign, family in zip(piece.text, _fonts(piece.text), strict=True)
    ]
    told = levels("".join(sign for sign, *_ in signs))
    runs = []
    for key, group in groupby(zip(signs, told, strict=True), key=lambda two: (*two[0][1:], two[1])):
        runs.append(Run("".join(sign[0] for sign, _ in group), *key))
    return runs


def _fonts(text: str) -> list[Family]:
    """The font of each character; marks, joiners and spaces take that of the letter before."""
    found: list[Family] = []
    for sign in text:
        follows = is_mark(sign) or sign in (JOINER, "\u200c", " ") or _is_tag(sign)
        if found and (follows or (sign in "\u0964\u0965" and _has(found[-1], sign))):
            found.append(found[-1])
        else:
            found.append(family_of(sign) or PLAIN)
    return found


def _is_tag(sign: str) -> bool:
    """Whether a sign tells which emoji the one before is: a tone of skin or a flag's letters."""
    return "\U0001f3fb" <= sign <= "\U0001f3ff" or "\U000e0020" <= sign <= "\U000e007f"


def _has(family: Family, sign: str) -> bool:
    return _font(family, REGULAR).get_nominal_glyph(ord(sign)) is not None


@lru_cache(maxsize=2 * len(FAMILIES))
def _font(family: Family, weight: int) -> Any:
    import uharfbuzz

    font = uharfbuzz.Font(face(family))
    font.set_variations({"wght": weight})
    return font


@lru_cache(maxsize=1024)
def shape(text: str, family: Family, weight: int, leftward: bool) -> tuple[Glyph, ...]:
    """The glyphs of a text of one font, from left to right as they are drawn."""
    import uharfbuzz

    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if leftward else "ltr"
    uharfbuzz.shape(_font(family, weight), buffer)
    places = zip(buffer.glyph_infos, buffer.glyph_positions, strict=True)
    return tuple(Glyph(i.codepoint, p.x_advance, p.x_offset, p.y_offset) for i, p in places)


def shaped(run: Run) -> tuple[Glyph, ...]:
    """The glyphs of a run."""
    return shape(run.text, run.family, run.weight, run.level % 2 == 1)


def _scale(run: Run) -> float:
    return run.size / float(face(run.family).upem)


def run_width(run: Run) -> float:
    """How wide a run is, in the picture's units."""
    return _scale(run) * sum(glyph.advance for glyph in shaped(run))


def _path(runs: Sequence[Run], x: float, y: float) -> str:
    """The outlines of some runs as a path that begins at x on the line y."""
    from fontTools.pens.svgPathPen import SVGPathPen
    from fontTools.pens.transformPen import TransformPen

    pen = SVGPathPen(None, ntos=_short)
    for run in runs:
        scale, font = _scale(run), _font(run.family, run.weight)
        for glyph in shaped(run):
            at = (x + glyph.dx * scale, y - glyph.dy * scale)
            font.draw_glyph_with_pen(glyph.number, TransformPen(pen, (scale, 0, 0, -scale, *at)))
            x += glyph.advance * scale
    return str(pen.getCommands())


def _short(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0")
