"""The boxes of everything on an engraved system, measured from its SVG, and their collisions.

Nothing here comes from the engraver's own layout: glyphs are measured by their outlines, lines by
their points, texts by the font that sets them on the page (typst is asked how wide and how high it
draws each). Boxes are in the units of the picture's own viewBox, 1900 to a system; a staff space
is 18 of them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from functools import cache, lru_cache
from itertools import pairwise
from typing import Any, NamedTuple

from fontTools.misc.transform import Identity, Transform
from lxml import etree
from support.shapes import (
    COLUMN,
    Element,
    Point,
    columns,
    inks,
    is_upright,
    known,
    lines,
    outline,
    scale,
    transform_of,
    view_transform,
)

TOLERANCE = 2.0
"""Two boxes overlap that must be moved by more than this to be free of each other: 0.19 mm on a
line of 180 mm."""

SVG = "{http://www.w3.org/2000/svg}"
HREF = "{http://www.w3.org/1999/xlink}href"

_KINDS = {
    "accid": "accidental",
    "keyAccid": "accidental",
    "artic": "articulation",
    "barLine": "barline",
    "beam": "beam",
    "bracketSpan": "bracket",
    "caesura": "ornament",
    "clef": "clef",
    "dir": "words",
    "dots": "dot",
    "dynam": "dynamics",
    "ending": "ending",
    "fermata": "ornament",
    "flag": "flag",
    "gliss": "slide",
    "grpSym": "brace",
    "hairpin": "hairpin",
    "harm": "harmony",
    "ledgerLines": "ledger",
    "mNum": "measure number",
    "measure": "label",
    "meterSig": "time",
    "mordent": "ornament",
    "multiRest": "rest number",
    "notehead": "notehead",
    "reh": "mark",
    "rest": "rest",
    "mRest": "rest",
    "slur": "tie",
    "staff": "staff",
    "stem": "stem",
    "system": "label",
    "tempo": "mark",
    "tie": "tie",
    "trill": "ornament",
    "tupletBracket": "tuplet bracket",
    "tupletNum": "tuplet number",
    "turn": "ornament",
    "verse": "syllable",
    "voltaBracket": "ending",
}
"""What each class of the engraver is called here; the innermost one that is known counts."""

TEXTS = frozenset(
    {
        "dynamics",
        "ending",
        "harmony",
        "label",
        "mark",
        "measure number",
        "ornament",
        "rest number",
        "sign",
        "syllable",
        "tuplet number",
        "word",
        "words",
    }
)
"""What is read, and must stand free of one another and of the music."""

_LINES = frozenset({"brace", "bracket", "hairpin", "tuplet bracket", "ending line"})
_MUSIC = frozenset(
    {"accidental", "beam", "clef", "dot", "flag", "ledger", "notehead", "rest", "staff", "stem"}
    | {"time"}
)
_HELD = frozenset({"tie", "slide"})
_HEADS = frozenset({"accidental", "notehead"})


class Box(NamedTuple):
    """A thing of a system, and from where to where it is drawn; y grows downwards."""

    kind: str
    text: str
    x0: float
    y0: float
    x1: float
    y1: float
    group: int
    """What belongs together (a clap and its circle) has one number."""


class Overlap(NamedTuple):
    """Two things that share a place, and how far one must be moved, at least, to be free."""

    kind: str
    text: str
    other: str
    other_text: str
    amount: float
    at: Point


class _Style(NamedTuple):
    """The style that an element inherits: its place and the type of its texts."""

    place: Transform = Identity
    kind: str = ""
    group: int = 0
    size: float = 0.0
    bold: bool = False
    italic: bool = False
    anchor: str = "start"
    verse: int = 0


@lru_cache(maxsize=4)
def boxes(svg: str) -> tuple[Box, ...]:
    """Everything drawn in a system, a box each; slanted and bent things in several."""
    return tuple(_Reader(svg).boxes)


class _Reader:
    """Walks one picture in the order in which it is drawn."""

    def __init__(self, svg: str) -> None:
        self.boxes: list[Box] = []
        self.groups = 0
        root = etree.fromstring(svg.encode())
        self.glyphs = {
            str(held.get("id")): held for defs in root.iter(f"{SVG}defs") for held in defs
        }
        css = "".join(text for style in root.iter(f"{SVG}style") for text in [style.text or ""])
        self.bold = frozenset(re.findall(r"g\.(\w+)", _selectors_with(css, "font-weight:bold")))
        self.italic = frozenset(re.findall(r"g\.(\w+)", _selectors_with(css, "font-style:italic")))
        texts = list(root.iter(f"{SVG}text"))
        self.runs = {text: list(self.runs_of(text)) for text in texts}
        inks(
            (said, style.bold, style.italic) for runs in self.runs.values() for said, style in runs
        )
        for child in root:
            self.walk(child, _Style())

    def walk(self, element: Element, style: _Style) -> None:
        name = str(element.tag).removeprefix(SVG)
        if name in ("defs", "style", "desc", "title") or "placeholder" in element.get("class", ""):
            return
        style = self.styled(element, style)
        if name == "svg":
            style = style._replace(place=style.place.transform(view_transform(element)))
        if name == "text":
            self.text(element, style)
        elif name == "use":
            self.glyph(element, style)
        elif name == "rect" and element.get("fill") == "white":
            self.cover(element, style)
        elif name in ("path", "polygon", "polyline", "ellipse", "rect"):
            self.shape(name, element, style)
        else:
            first = len(self.boxes)
            verses = 0
            for child in element:
                if child.get("class") == "verse":
                    self.walk(child, style._replace(verse=verses))
                    verses += 1
                else:
                    self.walk(child, style)
            if element.get("class") == "staff":
                self.field(first)

    def field(self, first: int) -> None:
        """The lines of a staff as one thing, with what is between them."""
        lines = [box for box in self.boxes[first:] if box.kind == "staff"]
        if lines:
            x0, y0 = min(box.x0 for box in lines), min(box.y0 for box in lines)
            x1, y1 = max(box.x1 for box in lines), max(box.y1 for box in lines)
            self.boxes[first:] = [
                lines[0]._replace(x0=x0, y0=y0, x1=x1, y1=y1),
                *(box for box in self.boxes[first:] if box.kind != "staff"),
            ]

    def styled(self, element: Element, style: _Style) -> _Style:
        """Return the style of an element: the inherited one with its changes."""
        given = element.attrib
        changes: dict[str, Any] = {}
        if "transform" in given:
            changes["place"] = style.place.transform(transform_of(given["transform"]))
        if "text-anchor" in given:
            changes["anchor"] = given["text-anchor"]
        for name in given.get("class", "").split():
            if name in self.bold:
                changes["bold"] = True
            if name in self.italic:
                changes["italic"] = True
            if name in _KINDS:
                self.groups += 1
                changes |= {"kind": _KINDS[name], "group": self.groups}
        if given.get("font-size"):
            changes["size"] = float(given["font-size"].removesuffix("px"))
        if given.get("font-weight"):
            changes["bold"] = given["font-weight"] == "bold"
        if given.get("font-style"):
            changes["italic"] = given["font-style"] == "italic"
        return style._replace(**changes) if changes else style

    def runs_of(self, text: Element) -> Iterator[tuple[str, _Style]]:
        """The runs of a text that have a size, as they are set."""
        above = _Style()
        for ancestor in reversed(list(text.iterancestors())):
            above = self.styled(ancestor, above)

        def within(element: Element, style: _Style) -> Iterator[tuple[str, _Style]]:
            style = self.styled(element, style)
            parts = [(element.text, style)]
            for child in element:
                yield from _inked_runs(parts)
                yield from within(child, style)
                parts = [(child.tail, style)]
            yield from _inked_runs(parts)

        return within(text, above)

    def text(self, element: Element, style: _Style) -> None:
        runs = self.runs[element]
        said = "".join(said for said, _ in runs)
        if not said.strip():
            return
        measured = [(known[said, run.bold, run.italic], run.size) for said, run in runs]
        width = sum(ink.width * size for ink, size in measured)
        x, y = float(element.get("x", "0")), float(element.get("y", "0"))
        x -= {"middle": width / 2, "end": width}.get(style.anchor, 0)
        up = max(ink.up * size for ink, size in measured)
        down = max(ink.down * size for ink, size in measured)
        kind = style.kind
        if kind == "syllable" and style.verse:
            kind = "word"
        elif kind == "words" and any(run.bold for _, run in runs):
            kind = "sign"
        elif kind in ("bracket", "staff"):
            kind = "label"
        if kind == "label":
            # With the ground that is drawn for it just before.
            self.groups += self.boxes[-1].kind != "ground"
            style = style._replace(group=self.groups)
        self.add(kind, said.strip(), style, [(x, y - up), (x + width, y + down)])

    def glyph(self, element: Element, style: _Style) -> None:
        name = str(element.get(HREF) or element.get("href"))[1:]
        x, y = float(element.get("x", "0")), float(element.get("y", "0"))
        for path in self.glyphs[name].iter(f"{SVG}path"):
            bounds = outline(path.get("d", ""))
            if bounds is None:
                continue
            place = style.place.translate(x, y).transform(transform_of(path.get("transform", "")))
            x0, y0, x1, y1 = bounds
            corners = [place.transformPoint(c) for c in ((x0, y0), (x1, y1), (x0, y1), (x1, y0))]
            self.add(style.kind, _glyph_name(name), style._replace(place=Identity), corners)

    def shape(self, name: str, element: Element, style: _Style) -> None:
        kind = style.kind
        if kind == "words":
            kind = "sign"  # its circle
        elif kind == "ending":
            kind = "ending line"
        elif kind == "rest number":
            kind = "rest"  # the bar on the staff
        elif kind == "label":
            kind = "brace"  # and the line at the beginning of a system of several staves
        half = float(element.get("stroke-width", "0")) / 2
        for points in lines(name, element):
            if name == "ellipse" or is_upright(points):
                pieces = [points] if name == "ellipse" else [list(p) for p in pairwise(points)]
            else:
                pieces = list(columns(points, COLUMN / scale(style.place)))
            for piece in pieces:
                self.add(kind, "", style, piece, half)

    def cover(self, element: Element, style: _Style) -> None:
        """A white ground takes away the line of the bracket that it is drawn upon."""
        x, y, width, height = (
            float(element.get(key, "0")) for key in ("x", "y", "width", "height")
        )
        (x0, y0), (x1, y1) = map(style.place.transformPoint, ((x, y), (x + width, y + height)))
        last = max((box.group for box in self.boxes if box.kind == "bracket"), default=0)
        kept = []
        for box in self.boxes:
            on = box.group == last and y0 < box.y0 and box.y1 < y1
            if not on or box.x1 < x0 or x1 < box.x0:
                kept.append(box)
                continue
            kept += [box._replace(x0=a, x1=b) for a, b in ((box.x0, x0), (x1, box.x1)) if a < b]
        self.boxes = kept
        self.groups += 1
        ground = style._replace(group=self.groups)
        self.add("ground", "", ground, [(x, y), (x + width, y + height)])

    def add(
        self, kind: str, text: str, style: _Style, points: Sequence[Point], half: float = 0
    ) -> None:
        placed = [style.place.transformPoint(point) for point in points]
        half *= scale(style.place)
        xs, ys = [x for x, _ in placed], [y for _, y in placed]
        self.boxes.append(
            Box(kind, text, min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half,
                style.group)
        )  # fmt: skip


def _selectors_with(css: str, property_text: str) -> str:
    """Return the selectors of the rules in a style sheet that contain a text."""
    rules = (rule.partition("{") for rule in css.split("}"))
    return " ".join(selector for selector, _, body in rules if property_text in body)


def _inked_runs(parts: Iterable[tuple[str | None, _Style]]) -> Iterator[tuple[str, _Style]]:
    for text, style in parts:
        # A no-break space at its end is there to keep things away, and has no ink.
        shown = re.sub(r"[ \t\r\n]+", " ", text or "").rstrip("\u00a0")
        if shown.strip() and style.size:
            yield shown, style


def _glyph_name(glyph: str) -> str:
    """Return the name of a glyph: a figure by its digit, any other by its code."""
    code = int(glyph.split("-")[0], 16)
    digit = code - 0xE080 if code < 0xE880 else code - 0xE880
    return str(digit) if 0 <= digit <= 9 else glyph.split("-")[0]


def overlaps(svg: str, tolerance: float = TOLERANCE) -> list[Overlap]:
    """Return the collisions of texts and signs: with each other, with brackets, with music."""
    found: dict[tuple[int, int], Overlap] = {}
    drawn = sorted(boxes(svg), key=lambda box: box.x0)
    alive: list[Box] = []
    for box in drawn:
        alive = [other for other in alive if other.x1 - tolerance > box.x0]
        for other in alive:
            if other.group == box.group or not _must_not_meet(box.kind, other.kind):
                continue
            amount = min(box.x1 - other.x0, other.x1 - box.x0, box.y1 - other.y0, other.y1 - box.y0)
            if amount <= tolerance:
                continue
            first, second = sorted((box, other), key=lambda one: (one.kind not in TEXTS, one.kind))
            pair = first.group, second.group
            if pair not in found or amount > found[pair].amount:
                found[pair] = Overlap(
                    first.kind, first.text, second.kind, second.text, round(amount, 1),
                    (round(max(box.x0, other.x0)), round(max(box.y0, other.y0))),
                )  # fmt: skip
        alive.append(box)
    return sorted(found.values())


@cache
def _must_not_meet(one: str, other: str) -> bool:
    """Return True if two kinds of thing must not share a place."""
    for kind, against in ((one, other), (other, one)):
        if kind in TEXTS and against in TEXTS | _LINES | _MUSIC | _HELD | {"ground"}:
            return True
        if kind in _LINES and against in _HEADS:
            return True
        if kind == "ground" and against in _HEADS | {"stem", "beam", "tuplet bracket", "bracket"}:
            return True
    return False


def boxes_outside(svg: str, tolerance: float = TOLERANCE) -> list[Box]:
    """The texts, signs and brackets that leave the picture, whose edges cut them off."""
    _, _, wide, high = map(float, etree.fromstring(svg.encode()).get("viewBox", "").split())
    return [
        box
        for box in boxes(svg)
        if box.kind in TEXTS | _LINES | _HEADS
        and not (
            -tolerance <= box.x0 <= box.x1 <= wide + tolerance
            and -tolerance <= box.y0 <= box.y1 <= high + tolerance
        )
    ]
