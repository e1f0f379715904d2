"""Small SVGs of systems for the page, without everything that a page does not need.

The engraver gives each element a class, an id and an indent; a page needs the ids of the notes
alone. Black is drawn in the colour of the text around it, and nothing white remains, so that a dark
page works; sizes and places stay.
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
"""The font with which the engraver measures its texts, and others as wide."""

_SHAPES = ("path", "polygon", "polyline", "ellipse", "rect", "use", "text")
_DROPPED = ("id", "class", "color", "overflow")


def slim(drawing: Drawing, name: str) -> str:
    """Return the drawing of a system as a small SVG.

    Notes keep their ids, and a chord has that of its first note. The id of a measure is ``m-``,
    ``name`` and its number from 0; the ids of glyphs end in ``name``, too.
    """
    return _Picture(name).picture(drawing)


def ids_of(picture: str) -> list[str]:
    """Return the ids of the notes and measures in a small SVG, in its order."""
    return re.findall(r'<g id="([^"]+)"', picture)


class _Picture:
    """Writes the small SVG of one system."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.used: set[str] = set()
        self.measures = 0

    def picture(self, drawing: Drawing) -> str:
        """Return the SVG of a drawing."""
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
        """Return a group with its children; "" for one that shows nothing.

        ``within``: the id of the group around it.
        """
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
        """Return the id that a group has on the page, or ""."""
        name = element.get("id", "")
        if "measure" in kinds:
            name = f"m-{self.name}-{self.measures}"
            self.measures += 1
            return name
        if "chord" in kinds:
            notes = (part.get("id", "") for part in element.iter() if isinstance(part.tag, str))
            return next((note for note in notes if NOTE_ID.fullmatch(note)), "")
        return name if "note" in kinds and NOTE_ID.fullmatch(name) else ""

    def contents(self, children: Iterable[Element], within: str) -> Iterator[str]:
        """Yield the children of a group; straight lines in a row that look alike are joined."""
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
    """Return a text, its nested parts as a flat row of parts."""
    if not "".join(map(str, element.itertext())).strip():
        return ""
    content = "".join(_runs(element, {}))
    own = _page_attributes(element)
    if own.get("font-size") == "0px":  # the size of the indentation
        del own["font-size"]
    if content.count("<tspan") == 1 and content.startswith("<tspan"):
        # A text of one part takes the attributes of that part.
        return _single_run_text(own, content)
    return f'<text{_attribute_text(own)} stroke="none">{content}</text>'


def _single_run_text(own: Mapping[str, str], run: str) -> str:
    """Return a text of one part, whose attributes override those of the whole."""
    head, _, text = run.removeprefix("<tspan").removesuffix("</tspan>").partition(">")
    others = {key: value for key, value in own.items() if f' {key}="' not in head}
    return f'<text{_attribute_text(others)} stroke="none"{head}>{text}</text>'


def _runs(element: Element, around: Mapping[str, str]) -> Iterator[str]:
    """Yield the parts of a text, each with all its attributes, without the indentation between."""
    here = {**around, **(_page_attributes(element) if _tag(element) == "tspan" else {})}
    if len(element) == 0 and element.text:
        yield f"<tspan{_attribute_text(here)}>{escape(element.text, quote=False)}</tspan>"
    for child in element:
        yield from _runs(child, here)
        if child.tail and child.tail.strip():
            yield f"<tspan{_attribute_text(here)}>{escape(child.tail, quote=False)}</tspan>"


def _without_label_grounds(bracket: Element) -> list[Element]:
    """Return the children of a bracket without the white grounds of its labels.

    The line of the bracket has gaps instead.
    """
    grounds = [one for one in bracket if _tag(one) == "rect"]
    children = [one for one in bracket if _tag(one) != "rect"]
    for ground in grounds:
        children = [part for one in children for part in _line_parts(one, ground)]
    return children


def _line_parts(element: Element, ground: Element) -> list[Element]:
    """Return the two parts of a bracket's line beside a ground; any other element as it is."""
    line = STRAIGHT.fullmatch(element.get("d", "")) if _tag(element) == "path" else None
    if line is None:
        return [element]
    x, y, width, height = (int(ground.get(key, "0")) for key in ("x", "y", "width", "height"))
    start, top, end, foot = map(int, line.groups())
    if not (top == foot and y < top < y + height and start < x and x + width < end):
        return [element]
    return [
        element.makeelement(element.tag, {**attributes(element), "d": f"M{x0} {top} L{x1} {top}"})
        for x0, x1 in ((start, x), (x + width, end))
    ]


def _is_straight(line: str) -> bool:
    return STRAIGHT.fullmatch(line) is not None


def _shortest_path(line: str) -> str:
    """Return a straight line as the shortest path data."""
    match = STRAIGHT.fullmatch(line)
    assert match is not None
    x, y, to_x, to_y = match.groups()
    if y == to_y:
        return f"M{x} {y}H{to_x}"
    return f"M{x} {y}V{to_y}" if x == to_x else f"M{x} {y}L{to_x} {to_y}"


def _tag(element: Element) -> str:
    return str(element.tag).removeprefix(SVG) if isinstance(element.tag, str) else ""


def _page_attributes(element: Element) -> dict[str, str]:
    """Return the attributes that a page needs."""
    return {
        key: value
        for key, value in attributes(element).items()
        if key not in _DROPPED and not key.startswith("{")
    }


def _attribute_text(attributes: Mapping[str, str]) -> str:
    return "".join(f' {key}="{escape(value)}"' for key, value in attributes.items())
