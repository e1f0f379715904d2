"""An engraved system as a tree: parsed once, changed by each fix, written once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from functools import cached_property

from lxml import etree

from cyclechart.write.engraving.engraver_facts import (
    INDEXED,
    MUSIC_FONT,
    STAFF_LINE,
    STRAIGHT,
    SVG,
    XLINK,
)

Element = etree._Element

G, TEXT, TSPAN = f"{SVG}g", f"{SVG}text", f"{SVG}tspan"
PATH, POLYLINE, POLYGON = f"{SVG}path", f"{SVG}polyline", f"{SVG}polygon"
RECT, ELLIPSE, USE = f"{SVG}rect", f"{SVG}ellipse", f"{SVG}use"


# Elements are never sought by their ids, of which the engraver gives hundreds.
_PARSER = etree.XMLParser(collect_ids=False)


def parsed(document: str) -> Element:
    """Return the root of one of the engraver's documents."""
    return etree.fromstring(document.encode(), _PARSER)


class Drawing:
    """The tree of a system. The groups of some kinds are found by the first word of their class, in
    the order of the drawing."""

    def __init__(self, svg: str) -> None:
        self.root = parsed(svg)
        self.has_music_text = f'"{MUSIC_FONT}"' in svg
        self.groups: defaultdict[str, list[Element]] = defaultdict(list)
        for group in self.root.iter(G):
            kind = group.get("class", "").partition(" ")[0]
            if kind in INDEXED:
                self.groups[kind].append(group)

    @property
    def svg(self) -> str:
        """The drawing as a document."""
        return etree.tostring(self.root, encoding="unicode")

    @property
    def text(self) -> str:
        """All that is written in the drawing, without spaces."""
        return "".join(etree.tostring(self.root, method="text", encoding="unicode").split())

    @cached_property
    def inner(self) -> Element | None:
        """The picture within the picture, whose units are the engraver's own."""
        return self.root.find(f"{SVG}svg")

    @cached_property
    def glyphs(self) -> dict[str, Element]:
        """The outline of each glyph that is used, by its code."""
        return {
            glyph_code(group.get("id", "")): path
            for group in self.root.iterfind(f"{SVG}defs/{G}")
            for path in group.iterfind(PATH)
        }


def glyph_code(reference: str) -> str:
    """Return the code of the glyph that an id or a reference means, or "": its code in SMuFL stands
    before the id of the picture."""
    code, dash, _ = reference.removeprefix("#").partition("-")
    return code if dash else ""


def used_glyph(use: Element) -> str:
    """Return the code of the glyph that a ``<use>`` shows."""
    return glyph_code(use.get(f"{XLINK}href", ""))


def attributes(element: Element) -> dict[str, str]:
    """Return the attributes of an element, in their order."""
    return {str(key): str(value) for key, value in element.attrib.items()}


def set_first(element: Element, key: str, value: str) -> None:
    """Give an element an attribute before its others."""
    written = {key: value, **attributes(element)}
    element.attrib.clear()
    for name, text in written.items():
        element.set(name, text)


def replace_elements(old: Sequence[Element], new: Sequence[Element]) -> None:
    """Put elements in the place of others that follow one another; text around them stays."""
    parent = old[0].getparent()
    assert parent is not None
    at, tail = parent.index(old[0]), old[-1].tail
    parent[at : at + len(old)] = new
    if new:
        new[-1].tail = tail
    elif at:
        parent[at - 1].tail = (parent[at - 1].tail or "") + (tail or "")
    else:
        parent.text = (parent.text or "") + (tail or "")


def nearest_staff(element: Element) -> Element | None:
    """Return the staff that an element stands in."""
    return next((one for one in element.iterancestors(G) if one.get("class") == "staff"), None)


def staff_lines(staff: Element | None) -> list[int]:
    """Return the height of each line of a staff, from the top."""
    if staff is None:
        return []
    paths = (path for path in staff.iterfind(PATH) if path.get("stroke-width") == STAFF_LINE)
    lines = (STRAIGHT.fullmatch(path.get("d", "")) for path in paths)
    return [int(line[2]) for line in lines if line and line[2] == line[4]]
