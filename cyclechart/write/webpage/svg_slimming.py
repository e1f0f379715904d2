"""A system's picture made small for a page: what a page does not need is taken out.

The engraver says what each thing is, gives all of them names and indents them; a page needs the
names of the notes alone. What is black is drawn in the colour of the text around it, and nothing
white is left, so that a dark page works; sizes and places are as they were.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from copy import deepcopy
from html import escape

from lxml import etree

Element = etree._Element

FAMILY = "Times, 'Times New Roman', 'Liberation Serif', serif"
"""What the engraver measured its texts with, and what is as wide."""

_NOTE = re.compile(r"n-[A-Z]+-\d+(?:-\d+)?")
_STRAIGHT = re.compile(r"M(-?\d+) (-?\d+) L(-?\d+) (-?\d+)")
_REFERENCE = re.compile(r"#?(\w+)-\w+")

_WEIGHTS = {"ending": "bold", "fing": "bold", "reh": "bold", "tempo": "bold", "label": "normal"}
_STYLES = {"dir": "italic", "dynam": "italic", "mNum": "italic"}
"""The engraver's own style sheet, by the class of a group."""

_UNSEEN = ("placeholder", "pageMilestone", "systemMilestoneEnd")
_SHAPES = ("path", "polygon", "polyline", "ellipse", "rect", "use", "text")
_DROPPED = ("id", "class", "color", "overflow")


def slim(svg: str, name: str) -> str:
    """A system's picture, small. Its notes keep their ids, a chord has that of its first note, a
    measure ``m-`` and ``name`` and its number from 0; glyphs are named after ``name``, too."""
    root = etree.fromstring(svg.encode())
    inner = next(one for one in root if _tag(one) == "svg")
    return _Picture(name).picture(root, inner)


def ids_of(picture: str) -> list[str]:
    """The ids of a small picture's notes and measures, in its order."""
    return re.findall(r'<g id="([^"]+)"', picture)


class _Picture:
    def __init__(self, name: str) -> None:
        self.name = name
        self.used: dict[str, None] = {}
        self.measures = 0

    def picture(self, root: Element, inner: Element) -> str:
        """All of it."""
        drawn = "".join(self.group(one) for one in inner)
        glyphs = {
            code: path
            for defs in root
            if _tag(defs) == "defs"
            for held in defs
            if (code := _code(held.get("id", ""))) in self.used
            for path in held
        }
        known = "".join(
            f"<path{_said({'id': self.glyph(code), **_kept(path)})}/>"
            for code, path in glyphs.items()
        )
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{inner.get("viewBox")}" '
            f'fill="currentColor" stroke="currentColor" font-family="{FAMILY}" '
            f'overflow="visible"><defs>{known}</defs>{drawn}</svg>'
        )

    def glyph(self, code: str) -> str:
        return f"{code}-{self.name}"

    def group(self, element: Element, within: str = "") -> str:
        """A group and all that it holds; "" for one that shows nothing. ``within``: the id that it
        shares with what is around it."""
        if not isinstance(element.tag, str):
            return ""
        tag = _tag(element)
        if tag in _SHAPES:
            return self.shape(element)
        if tag == "title":
            return f"<title>{escape(element.text or '')}</title>"
        kinds = element.get("class", "").split()
        if tag != "g" or any(kind in _UNSEEN for kind in kinds):
            return ""
        kept = {key: value for key, value in _kept(element).items() if key != "font-size"}
        name = self.named(element, kinds)
        if name and name != within:
            kept = {"id": name, **kept}
        for kind in kinds:
            if kind in _WEIGHTS:
                kept["font-weight"] = _WEIGHTS[kind]
            if kind in _STYLES:
                kept["font-style"] = _STYLES[kind]
        if "bracketSpan" in kinds:
            _part_lines(element)
        held = "".join(self.joined(element, name or within))
        if not held:
            return ""
        return f"<g{_said(kept)}>{held}</g>" if kept else held

    def named(self, element: Element, kinds: list[str]) -> str:
        """The id that a group is found by, or ""."""
        name = element.get("id", "")
        if "measure" in kinds:
            name = f"m-{self.name}-{self.measures}"
            self.measures += 1
            return name
        if "chord" in kinds:
            notes = (one.get("id", "") for one in element.iter() if isinstance(one.tag, str))
            return next((one for one in notes if _NOTE.fullmatch(one)), "")
        return name if "note" in kinds and _NOTE.fullmatch(name) else ""

    def joined(self, element: Element, within: str) -> Iterator[str]:
        """What a group holds; straight lines that follow one another and are alike are one."""
        pen: dict[str, str] = {}
        lines: list[str] = []
        for child in element:
            own = _kept(child) if isinstance(child.tag, str) and _tag(child) == "path" else {}
            line = own.pop("d", "")
            if lines and (own != pen or not _is_straight(line)):
                yield f"<path{_said({**pen, 'd': ''.join(lines)})}/>"
                lines = []
            if _is_straight(line):
                pen = own
                lines.append(_short(line))
            else:
                yield self.group(child, within)
        if lines:
            yield f"<path{_said({**pen, 'd': ''.join(lines)})}/>"

    def shape(self, element: Element) -> str:
        tag, kept = _tag(element), _kept(element)
        if tag == "text":
            return _text(element)
        if tag == "use":
            code = _code(element.get("{http://www.w3.org/1999/xlink}href", ""))
            self.used[code] = None
            kept = {"href": f"#{self.glyph(code)}", **kept}
        return f"<{tag}{_said(kept)}/>"


def _text(element: Element) -> str:
    """A text, its parts within parts as one each."""
    if not "".join(map(str, element.itertext())).strip():
        return ""
    held = "".join(_runs(element, {}))
    own = _kept(element)
    if own.get("font-size") == "0px":  # that of the indentation
        del own["font-size"]
    if held.count("<tspan") == 1 and held.startswith("<tspan"):
        # All of it is in one hand: that is said of the whole.
        return _joined(own, held)
    return f'<text{_said(own)} stroke="none">{held}</text>'


def _joined(own: Mapping[str, str], run: str) -> str:
    """A text of one part: what is said of that goes before what is said of the whole."""
    head, _, text = run.removeprefix("<tspan").removesuffix("</tspan>").partition(">")
    kept = {key: value for key, value in own.items() if f' {key}="' not in head}
    return f'<text{_said(kept)} stroke="none"{head}>{text}</text>'


def _runs(element: Element, around: Mapping[str, str]) -> Iterator[str]:
    """The parts of a text, each with all that is said of it; the indentation between them, which
    is set in no size at all, is left out."""
    here = {**around, **(_kept(element) if _tag(element) == "tspan" else {})}
    if len(element) == 0 and element.text:
        yield f"<tspan{_said(here)}>{escape(element.text, quote=False)}</tspan>"
    for child in element:
        yield from _runs(child, here)
        if child.tail and child.tail.strip():
            yield f"<tspan{_said(here)}>{escape(child.tail, quote=False)}</tspan>"


def _part_lines(bracket: Element) -> None:
    """The label of a bracket stands in its line on a white ground: the line is parted instead."""
    for ground in [one for one in bracket if _tag(one) == "rect"]:
        x, y = int(ground.get("x", "0")), int(ground.get("y", "0"))
        right, foot = x + int(ground.get("width", "0")), y + int(ground.get("height", "0"))
        bracket.remove(ground)
        for path in [one for one in bracket if _tag(one) == "path"]:
            line = _STRAIGHT.fullmatch(path.get("d", ""))
            if line is None:
                continue
            start, high, end, low = map(int, line.groups())
            if high == low and y < high < foot and start < x and right < end:
                path.set("d", f"M{start} {high} L{x} {high}")
                rest = deepcopy(path)
                rest.set("d", f"M{right} {high} L{end} {high}")
                path.addnext(rest)


def _is_straight(line: str) -> bool:
    return _STRAIGHT.fullmatch(line) is not None


def _short(line: str) -> str:
    """A straight line with the fewest signs."""
    match = _STRAIGHT.fullmatch(line)
    assert match is not None
    x, y, to_x, to_y = match.groups()
    if y == to_y:
        return f"M{x} {y}H{to_x}"
    return f"M{x} {y}V{to_y}" if x == to_x else f"M{x} {y}L{to_x} {to_y}"


def _code(reference: str) -> str:
    """Which glyph a reference of the engraver's means."""
    match = _REFERENCE.fullmatch(reference)
    return match[1] if match else ""


def _tag(element: Element) -> str:
    return etree.QName(element).localname if isinstance(element.tag, str) else ""


def _kept(element: Element) -> dict[str, str]:
    """The attributes that a page needs."""
    return {
        str(key): str(value)
        for key, value in element.attrib.items()
        if key not in _DROPPED and not str(key).startswith("{")
    }


def _said(attributes: Mapping[str, str]) -> str:
    return "".join(f' {key}="{escape(value)}"' for key, value in attributes.items())
