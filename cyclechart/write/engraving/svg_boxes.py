"""Where the things of an engraved system stand, read from its picture.

All measures are the engraver's own: 180 units to a staff space, y grows downwards. Places are those
within the margin of the page. Glyphs are measured by their outlines, lines by their points; the
texts of a system, whose font is not at hand, are taken a little too wide and too high.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple
from unicodedata import combining, normalize
from xml.parsers import expat

Point = tuple[float, float]

_STEADY = """
    accid artic bTrem beam clef dots flag gliss keyAccid ledgerLines mNum mRest meterSig multiRest
    notehead rest slur staff stem tie
"""
_FIXED = frozenset(_STEADY.split())
"""The engraver's classes of what stays where it is."""

ROWS = frozenset(("dir", "harm", "reh", "tempo"))
"""What is written in a row, all at one height."""

_FLOATING = ROWS | {"bracketSpan", "fermata", "mordent", "trill", "turn", "voltaBracket"}
_OTHER = frozenset(("barLine", "dynam", "layer", "verse"))
_KNOWN = _FIXED | _FLOATING | _OTHER | {"tupletBracket", "tupletNum"}

LETTER = 0.55
"""Of its size, how wide a letter is taken to be; the widest words are no wider."""

UP, DOWN = 0.7, 0.24
"""Of its size, how far a text reaches above its line, and below if it has such letters."""

_DEEP = frozenset("()gjpqy,;")

STEPS = 8
"""A curve is measured as so many straight pieces."""

_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_CODE = re.compile(r"E\w{3}-")


class Shape(NamedTuple):
    """The box of a thing; with its lines, if it does not fill its box."""

    x0: float
    y0: float
    x1: float
    y1: float
    lines: tuple[tuple[Point, Point], ...] = ()

    def raised(self, up: float) -> Shape:
        lines = tuple(((a, b - up), (c, d - up)) for (a, b), (c, d) in self.lines)
        return Shape(self.x0, self.y0 - up, self.x1, self.y1 - up, lines)

    def within(self, x0: float, x1: float) -> tuple[float, float] | None:
        """From where to where it reaches, up and down, between two places from left to right."""
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


@dataclass
class Group:
    """A drawn group that can be moved: ``at`` is where its tag takes attributes, in bytes."""

    at: int
    kind: str
    shapes: list[Shape] = field(default_factory=list)
    foot: float = 0
    """Of a text: the line that it stands on."""

    label: int | None = None
    """Of a bracket: where the tag of a label that stands over its line takes attributes."""

    grounded: bool = False
    """Of a bracket: whether its label has a white ground, within the line."""

    polylines: list[dict[str, str]] = field(default_factory=list)
    """Of a bracket: its lines as they are written, from ``inner`` on to ``end`` (in bytes)."""

    inner: int = 0
    end: int = 0


@dataclass
class Tuplet:
    """A tuplet's number and bracket; ``depth`` counts the tuplets that it stands in."""

    depth: int
    number: Group | None = None
    bracket: Group | None = None

    @property
    def groups(self) -> list[Group]:
        return [group for group in (self.number, self.bracket) if group]


@dataclass
class System:
    """What a picture shows: what stays, the tuplets, and what can stand higher."""

    fixed: list[Shape] = field(default_factory=list)
    tuplets: list[Tuplet] = field(default_factory=list)
    floating: list[Group] = field(default_factory=list)
    top: float = 0
    """Of the staff."""


class _Frame(NamedTuple):
    """What an open element hands down to those in it."""

    kind: str
    group: Group | None
    size: float


class _Reader:
    def __init__(self, svg: bytes) -> None:
        self.system = System()
        self.glyphs: dict[str, str] = {}
        self.glyph = ""
        self.frames = [_Frame("", None, 0)]
        self.open: list[Tuplet | None] = []
        self.text: list[tuple[str, float]] = []
        self.at: tuple[int, dict[str, str]] = (0, {})
        self.parser = parser = expat.ParserCreate()
        parser.StartElementHandler = self.start
        parser.EndElementHandler = self.end
        parser.CharacterDataHandler = self.said
        # The style sheet after the drawing holds a whole font, which is not of interest.
        parser.Parse(svg, True)

    def start(self, name: str, attributes: dict[str, str]) -> None:
        kind, group, size = self.frames[-1]
        if name == "g":
            if _CODE.match(attributes.get("id", "")):
                self.glyph = attributes["id"]
            given = attributes.get("class", "").partition(" ")[0]
            self.open.append(self.opened() if given == "tuplet" else None)
            if given in _KNOWN:
                kind, group = given, self.grouped(given)
        elif name in ("text", "tspan"):
            if "font-size" in attributes:
                size = float(attributes["font-size"].removesuffix("px"))
            if name == "text":
                at = self.parser.CurrentByteIndex + len("<text")
                self.text, self.at = [], (at, attributes)
        elif name == "path" and self.glyph:
            self.glyphs[self.glyph] = attributes["d"]
            self.glyph = ""
        elif kind not in ("", *_OTHER):
            self.draw(name, attributes, kind, group)
        self.frames.append(_Frame(kind, group, size))

    def opened(self) -> Tuplet:
        tuplet = Tuplet(sum(one is not None for one in self.open))
        self.system.tuplets.append(tuplet)
        return tuplet

    def grouped(self, kind: str) -> Group | None:
        group = Group(self.parser.CurrentByteIndex + len("<g"), kind)
        if kind in _FLOATING:
            self.system.floating.append(group)
            return group
        if not kind.startswith("tuplet"):
            return None
        tuplet = next(one for one in reversed(self.open) if one)
        if kind == "tupletNum":
            tuplet.number = group
        else:
            tuplet.bracket = group
        return group

    def end(self, name: str) -> None:
        kind, group, _ = self.frames.pop()
        if name == "g":
            self.open.pop()
        elif name == "text" and kind not in _OTHER:
            self.write(kind, group)
        elif name == "polyline" and group:
            group.end = self.parser.CurrentByteIndex

    def said(self, text: str) -> None:
        size = self.frames[-1].size
        if size and text.strip():
            self.text.append((text.strip("\n"), size))

    def write(self, kind: str, group: Group | None) -> None:
        """A text is at its end."""
        at, attributes = self.at
        if not self.text or not kind:
            return
        # A no-break space at its end is there to keep things away, and has no ink.
        self.text[-1] = (self.text[-1][0].rstrip(), self.text[-1][1])
        size = max(size for _, size in self.text)
        wide = sum(
            LETTER * size * sum(not combining(sign) for sign in normalize("NFD", text))
            for text, size in self.text
        )
        x, y = float(attributes.get("x", "0")), float(attributes.get("y", "0"))
        x -= {"middle": wide / 2, "end": wide}.get(attributes.get("text-anchor", ""), 0)
        down = DOWN * size if any(_DEEP & set(text) for text, _ in self.text) else 0
        shape = Shape(x, y - UP * size, x + wide, y + down)
        if group is None:
            self.system.fixed.append(shape)
            return
        group.foot = y
        if kind == "bracketSpan" and not group.grounded:
            group.label = at
        group.shapes.append(shape)

    def draw(self, name: str, attributes: dict[str, str], kind: str, group: Group | None) -> None:
        if kind == "bracketSpan" and group and name == "rect":
            group.grounded = True
            return
        if group and name == "polyline":
            group.inner = group.inner or self.parser.CurrentByteIndex
            group.polylines.append(attributes)
        shapes = list(self.shapes(name, attributes))
        if group:
            group.shapes += shapes
        elif kind == "staff" and shapes:
            self.field(shapes[0])
        else:
            self.system.fixed += shapes

    def field(self, line: Shape) -> None:
        """The lines of a staff are one thing, with what is between them."""
        last = self.system.fixed[-1] if self.system.fixed else None
        if last and (last.x0, last.x1) == (line.x0, line.x1):
            self.system.fixed[-1] = last._replace(y1=line.y1)
        else:
            self.system.top = line.y0
            self.system.fixed.append(line)

    def shapes(self, name: str, attributes: dict[str, str]) -> Iterator[Shape]:
        half = float(attributes.get("stroke-width", "0")) / 2
        if name == "use":
            x, y, scale = map(float, _NUMBER.findall(attributes["transform"])[:3])
            bounds = _bounds(self.glyphs[attributes["xlink:href"][1:]])
            if bounds:
                x0, y0, x1, y1 = (scale * place for place in bounds)
                yield Shape(x + x0, y - y1, x + x1, y - y0)
        elif name in ("ellipse", "rect"):
            keys = ("cx", "cy", "rx", "ry") if name == "ellipse" else ("x", "y", "width", "height")
            x, y, wide, high = (float(attributes.get(key, "0")) for key in keys)
            left, top = (wide, high) if name == "ellipse" else (0, 0)
            yield Shape(x - left - half, y - top - half, x + wide + half, y + high + half)
        elif name in ("path", "polygon", "polyline"):
            written = attributes["d" if name == "path" else "points"]
            numbers = list(map(float, _NUMBER.findall(written)))
            points = list(zip(numbers[::2], numbers[1::2], strict=False))
            if name == "polygon":
                yield outlined([*points, points[0]], half)
            elif "C" in written:
                yield outlined(list(_curves(points)), half)
            else:
                for pair in pairwise(points):
                    yield outlined(pair, half)


def outlined(points: Sequence[Point], half: float) -> Shape:
    """A line through some points, drawn with a pen of twice ``half``."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    upright = all(a == c or b == d for (a, b), (c, d) in pairwise(points))
    lines = () if upright else tuple(pairwise(points))
    return Shape(min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half, lines)


def _curves(points: Sequence[Point]) -> Iterator[Point]:
    """Points of a path that begins somewhere and goes on in curves, three points to each."""
    yield points[0]
    for at in range(0, len(points) - 3, 3):
        held = points[at : at + 4]
        for step in range(1, STEPS + 1):
            t = step / STEPS
            parts = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
            x, y = (sum(p * q[i] for p, q in zip(parts, held, strict=True)) for i in (0, 1))
            yield x, y


@lru_cache(maxsize=1024)
def _bounds(path: str) -> tuple[float, float, float, float] | None:
    """The bounds of a glyph, in the font's units; y grows upwards."""
    from fontTools.pens.boundsPen import BoundsPen
    from fontTools.svgLib.path import parse_path

    pen = BoundsPen(None)
    parse_path(path, pen)
    found: tuple[float, float, float, float] | None = pen.bounds
    return found


def measured(svg: bytes) -> System:
    """Read a picture as the engraver writes it."""
    return _Reader(svg).system
