"""The boxes of drawn shapes and texts.

All measures are the engraver's own: 180 units to a staff space, y grows downwards. Glyphs are
measured by their outlines, lines by their points; texts, whose font is not at hand, are taken a
little too wide and too high.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple
from unicodedata import combining, normalize

from cyclechart.write.engraving.drawing import (
    ELLIPSE,
    PATH,
    POLYGON,
    POLYLINE,
    RECT,
    TEXT,
    USE,
    Element,
    used_glyph,
)
from cyclechart.write.engraving.engraver_facts import GLYPH_PLACE

Point = tuple[float, float]

LETTER = 0.55
"""The width of a letter, to its size; the widest words are no wider."""

UP, DOWN = 0.7, 0.24
"""The height of a text above its line, to its size, and its depth if it has deep letters."""

_DEEP = frozenset("()fgjpqy,;")  # The f of italics among them.
_BELOW = 220
"""The class of signs that stand under a letter (Unicode, canonical combining classes)."""

STEPS = 8
"""A curve is measured as so many straight pieces, one that is higher than ``HIGH`` as four times as
many: pieces lie below the top of a curve."""
HIGH = 500

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_RECT_KEYS = ("x", "y", "width", "height")
_ELLIPSE_KEYS = ("cx", "cy", "rx", "ry")


class Shape(NamedTuple):
    """The box of a thing; with its lines, if it does not fill its box."""

    x0: float
    y0: float
    x1: float
    y1: float
    lines: tuple[tuple[Point, Point], ...] = ()

    def raised(self, up: float) -> Shape:
        """The same shape so far up."""
        lines = tuple(((a, b - up), (c, d - up)) for (a, b), (c, d) in self.lines)
        return Shape(self.x0, self.y0 - up, self.x1, self.y1 - up, lines)

    def within(self, x0: float, x1: float) -> tuple[float, float] | None:
        """The top and the foot of what lies between two places from left to right."""
        if not self.lines:
            return (self.y0, self.y1) if self.x0 < x1 and x0 < self.x1 else None
        ys: list[float] = []
        for one, other in self.lines:
            (ax, ay), (bx, by) = sorted((one, other))
            if bx < x0 or x1 < ax:
                continue
            slope = (by - ay) / (bx - ax) if bx > ax else 0
            ys += [ay + slope * (max(ax, x0) - ax), by - slope * (bx - min(bx, x1))]
        return (min(ys), max(ys)) if ys else None


def element_shapes(element: Element, glyphs: Mapping[str, Element]) -> Iterator[Shape]:
    """Yield the shapes of an element: none, where it is not drawn."""
    tag = element.tag
    if tag == USE:
        yield from _glyph_shapes(element, glyphs)
        return
    half = float(element.get("stroke-width", "0")) / 2
    if tag in (PATH, POLYLINE):
        written = element.get("d" if tag == PATH else "points", "")
        points = points_of(written)
        if "C" in written:
            yield line_shape(list(_curve_points(points)), half)
        else:
            for pair in pairwise(points):
                yield line_shape(pair, half)
    elif tag == POLYGON:
        points = points_of(element.get("points", ""))
        yield line_shape([*points, points[0]], half)
    elif tag == RECT:
        x, y, wide, high = (float(element.get(key, "0")) for key in _RECT_KEYS)
        yield Shape(x - half, y - half, x + wide + half, y + high + half)
    elif tag == ELLIPSE:
        x, y, rx, ry = (float(element.get(key, "0")) for key in _ELLIPSE_KEYS)
        yield Shape(x - rx - half, y - ry - half, x + rx + half, y + ry + half)


def _glyph_shapes(use: Element, glyphs: Mapping[str, Element]) -> Iterator[Shape]:
    place = GLYPH_PLACE.match(use.get("transform", ""))
    bounds = glyph_bounds(glyphs[used_glyph(use)].get("d", ""))
    if place and bounds:
        x, y, scale = map(float, place.groups())
        x0, y0, x1, y1 = (scale * side for side in bounds)
        yield Shape(x + x0, y - y1, x + x1, y - y0)


def points_of(written: str) -> list[Point]:
    """Return the points of a path or a polyline."""
    numbers = list(map(float, _NUMBER.findall(written)))
    return list(zip(numbers[::2], numbers[1::2], strict=False))


def line_shape(points: Sequence[Point], half: float) -> Shape:
    """Return the shape of a line through some points, drawn with a pen of twice ``half``."""
    if len(points) == 2:
        (x0, y0), (x1, y1) = points
        slanted = () if x0 == x1 or y0 == y1 else ((points[0], points[1]),)
        left, right = (x0, x1) if x0 < x1 else (x1, x0)
        top, foot = (y0, y1) if y0 < y1 else (y1, y0)
        return Shape(left - half, top - half, right + half, foot + half, slanted)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    upright = all(a == c or b == d for (a, b), (c, d) in pairwise(points))
    lines = () if upright else tuple(pairwise(points))
    return Shape(min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half, lines)


def _curve_points(points: Sequence[Point]) -> Iterator[Point]:
    """Points of a path that begins somewhere and goes on in curves, three points to each."""
    yield points[0]
    ys = [y for _, y in points]
    weights = _HIGH_WEIGHTS if max(ys) - min(ys) > HIGH else _WEIGHTS
    for at in range(0, len(points) - 3, 3):
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = points[at : at + 4]
        for a, b, c, d in weights:
            yield a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3


def _weights(steps: int) -> list[tuple[float, float, float, float]]:
    """The weights of the four points of a curve, at each step along it."""
    return [
        ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
        for t in (step / steps for step in range(1, steps + 1))
    ]


_WEIGHTS, _HIGH_WEIGHTS = _weights(STEPS), _weights(4 * STEPS)


@lru_cache(maxsize=1024)
def glyph_bounds(path: str) -> tuple[float, float, float, float] | None:
    """Return the bounds of a glyph, in the font's units; y grows upwards."""
    from fontTools.pens.boundsPen import BoundsPen
    from fontTools.svgLib.path import parse_path

    pen = BoundsPen(None)
    parse_path(path, pen)
    bounds: tuple[float, float, float, float] | None = pen.bounds
    return bounds


def text_shape(text: Element) -> Shape | None:
    """Return the box of a text; ``None`` for one that shows nothing."""
    runs = list(sized_runs(text, 0))
    if not runs:
        return None
    # A no-break space at its end is there to keep things away, and has no ink.
    runs[-1] = (runs[-1][0].rstrip(), runs[-1][1])
    size = max(size for _, size in runs)
    wide = sum(LETTER * size * _letters(run) for run, size in runs)
    x, y = float(text.get("x", "0")), float(text.get("y", "0"))
    x -= {"middle": wide / 2, "end": wide}.get(text.get("text-anchor", ""), 0)
    down = DOWN * size if any(_is_deep(run) for run, _ in runs) else 0
    return Shape(x, y - UP * size, x + wide, y + down)


def group_shapes(group: Element, glyphs: Mapping[str, Element]) -> list[Shape]:
    """Return the shapes of all that a group shows, its texts among them."""
    found: list[Shape] = []
    for element in group.iter():
        if element.tag == TEXT:
            shape = text_shape(element)
            found += [shape] if shape is not None else []
        else:
            found += element_shapes(element, glyphs)
    return found


def _is_deep(text: str) -> bool:
    """Return whether letters of a text, or signs under them, go below its line."""
    return bool(_DEEP & set(text)) or any(
        combining(sign) == _BELOW for sign in normalize("NFD", text)
    )


def _letters(text: str) -> int:
    return sum(not combining(sign) for sign in normalize("NFD", text))


def sized_runs(element: Element, size: float) -> Iterator[tuple[str, float]]:
    """Yield the lines within a text, each with its size; those without a size are indentation."""
    size = float(element.get("font-size", str(size)).removesuffix("px"))
    yield from _sized_lines(element.text, size)
    for child in element:
        yield from sized_runs(child, size)
        yield from _sized_lines(child.tail, size)


def _sized_lines(text: str | None, size: float) -> Iterable[tuple[str, float]]:
    if not size or not text or text.isspace():
        return ()
    return ((line, size) for line in text.split("\n") if line.strip())
