"""The drawing of a system made small for a page: all that a page does not need is taken out.

The engraver says what each thing is, gives all of them names and indents them; a page needs the
names of the notes alone. What is black is drawn in the colour of the text around it, and nothing
white is left, so that a dark page works; sizes and places are as they were.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from html import escape

from cyclechart.write.engraving.drawing import Drawing, Element, attributes, used_glyph
from cyclechart.write.engraving.engraver_facts import (
    FONT_STYLES,
    FONT_WEIGHTS,
    INVISIBLE,
    NOTE_ID,
    STRAIGHT,
    SVG,
)

FAMILY = "Times, 'Times New Roman', 'Liberation Serif', serif"
"""The font that the engraver measures its texts with, and others as wide."""

_SHAPES = ("path", "polygon", "polyline", "ellipse", "rect", "use", "text")
_DROPPED = ("id", "class", "color", "overflow")


def slim(drawing: Drawing, name: str) -> str:
    """Return a system's picture, small. Its notes keep their ids, a chord has that of its first
    note, a measure ``m-`` and ``name`` and its number from 0; glyphs are named after ``name``, too.
    """
    return _Picture(name).picture(drawing)


def ids_of(picture: str) -> list[str]:
    """The ids of a small picture's notes and measures, in its order."""
    return re.findall(r'<g id="([^"]+)"', picture)


class _Picture:
    def __init__(self, name: str) -> None:
        self.name = name
        self.used: set[str] = set()
        self.measures = 0

    def picture(self, drawing: Drawing) -> str:
        """Return the whole drawing."""
        assert drawing.inner is not None
        content = "".join(self.group(one) for one in drawing.inner)
        glyphs = "".join(
            f"<path{_attribute_text({'id': self.glyph(code), **_page_attributes(path)})}/>"
            for code, path in drawing.glyphs.items()
            if code in self.used
        )
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{drawing.inner.get("viewBox")}" '
            f'fill="currentColor" stroke="currentColor" font-family="{FAMILY}" '
            f'overflow="visible"><defs>{glyphs}</defs>{content}</svg>'
        )

    def glyph(self, code: str) -> str:
        return f"{code}-{self.name}"

    def group(self, element: Element, within: str = "") -> str:
        """A group and all that is in it; "" for one that shows nothing. ``within``: the id that it
        shares with what is around it."""
        if not isinstance(element.tag, str):
            return ""
        tag = _tag(element)
        if tag in _SHAPES:
            return self.shape(element)
        if tag == "title":
            return f"<title>{escape(element.text or '')}</title>"
        kinds = element.get("class", "").split()
        if tag != "g" or any(kind in INVISIBLE for kind in kinds):
            return ""
        own = _page_attributes(element)
        own.pop("font-size", None)
        name = self.id_of(element, kinds)
        if name and name != within:
            own = {"id": name, **own}
        for kind in kinds:
            if kind in FONT_WEIGHTS:
                own["font-weight"] = FONT_WEIGHTS[kind]
            if kind in FONT_STYLES:
                own["font-style"] = FONT_STYLES[kind]
        children = _without_label_grounds(element) if "bracketSpan" in kinds else element
        content = "".join(self.contents(children, name or within))
        if not content:
            return ""
        return f"<g{_attribute_text(own)}>{content}</g>" if own else content

    def id_of(self, element: Element, kinds: list[str]) -> str:
        """The id that a group is found by, or ""."""
        name = element.get("id", "")
        if "measure" in kinds:
            name = f"m-{self.name}-{self.measures}"
            self.measures += 1
            return name
        if "chord" in kinds:
            notes = (one.get("id", "") for one in element.iter() if isinstance(one.tag, str))
            return next((one for one in notes if NOTE_ID.fullmatch(one)), "")
        return name if "note" in kinds and NOTE_ID.fullmatch(name) else ""

    def contents(self, children: Iterable[Element], within: str) -> Iterator[str]:
        """The children of a group; straight lines that follow one another and are alike are one."""
        pen: dict[str, str] = {}
        lines: list[str] = []
        for child in children:
            own = _page_attributes(child) if _tag(child) == "path" else {}
            line = own.pop("d", "")
            if lines and (own != pen or not _is_straight(line)):
                yield f"<path{_attribute_text({**pen, 'd': ''.join(lines)})}/>"
                lines = []
            if _is_straight(line):
                pen = own
                lines.append(_shortest_path(line))
            else:
                yield self.group(child, within)
        if lines:
            yield f"<path{_attribute_text({**pen, 'd': ''.join(lines)})}/>"

    def shape(self, element: Element) -> str:
        tag, own = _tag(element), _page_attributes(element)
        if tag == "text":
            return _text(element)
        if tag == "use":
            code = used_glyph(element)
            self.used.add(code)
            own = {"href": f"#{self.glyph(code)}", **own}
        return f"<{tag}{_attribute_text(own)}/>"


def _text(element: Element) -> str:
    """A text, its parts within parts as one each."""
    if not "".join(map(str, element.itertext())).strip():
        return ""
    content = "".join(_runs(element, {}))
    own = _page_attributes(element)
    if own.get("font-size") == "0px":  # that of the indentation
        del own["font-size"]
    if content.count("<tspan") == 1 and content.startswith("<tspan"):
        # A text of one part takes the attributes of that part.
        return _single_run_text(own, content)
    return f'<text{_attribute_text(own)} stroke="none">{content}</text>'


def _single_run_text(own: Mapping[str, str], run: str) -> str:
    """A text of one part, whose attributes go before those of the whole."""
    head, _, text = run.removeprefix("<tspan").removesuffix("</tspan>").partition(">")
    others = {key: value for key, value in own.items() if f' {key}="' not in head}
    return f'<text{_attribute_text(others)} stroke="none"{head}>{text}</text>'


def _runs(element: Element, around: Mapping[str, str]) -> Iterator[str]:
    """The parts of a text, each with all its attributes; the indentation between them, which
    is set in no size at all, is left out."""
    here = {**around, **(_page_attributes(element) if _tag(element) == "tspan" else {})}
    if len(element) == 0 and element.text:
        yield f"<tspan{_attribute_text(here)}>{escape(element.text, quote=False)}</tspan>"
    for child in element:
        yield from _runs(child, here)
        if child.tail and child.tail.strip():
            yield f"<tspan{_attribute_text(here)}>{escape(child.tail, quote=False)}</tspan>"


def _without_label_grounds(bracket: Element) -> list[Element]:
    """The children of a bracket without the white grounds that its labels stand on within its line:
    the line has gaps instead."""
    grounds = [one for one in bracket if _tag(one) == "rect"]
    children = [one for one in bracket if _tag(one) != "rect"]
    for ground in grounds:
        children = [part for one in children for part in _line_parts(one, ground)]
    return children


def _line_parts(element: Element, ground: Element) -> list[Element]:
    """A bracket's line on both sides of a ground; any other element, and a line elsewhere, is left
    as it is."""
    line = STRAIGHT.fullmatch(element.get("d", "")) if _tag(element) == "path" else None
    if line is None:
        return [element]
    x, y, wide, high = (int(ground.get(key, "0")) for key in ("x", "y", "width", "height"))
    start, top, end, foot = map(int, line.groups())
    if not (top == foot and y < top < y + high and start < x and x + wide < end):
        return [element]
    return [
        element.makeelement(element.tag, {**attributes(element), "d": f"M{x0} {top} L{x1} {top}"})
        for x0, x1 in ((start, x), (x + wide, end))
    ]


def _is_straight(line: str) -> bool:
    return STRAIGHT.fullmatch(line) is not None


def _shortest_path(line: str) -> str:
    """A straight line with the fewest signs."""
    match = STRAIGHT.fullmatch(line)
    assert match is not None
    x, y, to_x, to_y = match.groups()
    if y == to_y:
        return f"M{x} {y}H{to_x}"
    return f"M{x} {y}V{to_y}" if x == to_x else f"M{x} {y}L{to_x} {to_y}"


def _tag(element: Element) -> str:
    return str(element.tag).removeprefix(SVG) if isinstance(element.tag, str) else ""


def _page_attributes(element: Element) -> dict[str, str]:
    """The attributes that a page needs."""
    return {
        key: value
        for key, value in attributes(element).items()
        if key not in _DROPPED and not key.startswith("{")
    }


def _attribute_text(attributes: Mapping[str, str]) -> str:
    return "".join(f' {key}="{escape(value)}"' for key, value in attributes.items())
