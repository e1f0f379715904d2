"""Texts and signs over a staff at its right: the way to a coda ends at the barline, and none leaves
the picture."""

from __future__ import annotations

from cyclechart.arrange.sheet.measures import CLOSING
from cyclechart.write.engraving.drawing import PATH, TEXT, USE, Drawing, Element, G
from cyclechart.write.engraving.engraver_facts import (
    GLYPH_PLACE,
    ORNAMENTS,
    STAFF_LINE,
    STRAIGHT,
    TRANSLATION,
    VIEW_BOX,
)
from cyclechart.write.engraving.svg_shapes import Shape, group_shapes, text_shape

BETWEEN = 60
"""The least distance between two chord symbols, likewise."""

EDGE = 20
"""The distance of a text from the edge, in the units of a drawing."""


def keep_texts_inside(drawing: Drawing) -> None:
    """Move the words of a jump to the end of their measure, and texts, dynamics and ornaments that
    leave the picture at its right back to its edge."""
    edge = right_edge(drawing)
    if edge is None:
        return
    for group in drawing.groups["dir"]:
        for text in group.iter(TEXT):
            shape = text_shape(text)
            if shape is None:
                continue
            right = edge
            if "".join(map(str, text.itertext())).startswith(CLOSING):
                right = min(edge, _end_of_measure(group) or edge)
            elif shape.x1 <= edge:
                continue
            text.set("x", str(int(float(text.get("x", "0")) - (shape.x1 - right))))
    _space_symbols(drawing, edge)
    for group in (one for kind in ("dynam", *ORNAMENTS) for one in drawing.groups[kind]):
        away = max((shape.x1 for shape in group_shapes(group, drawing.glyphs)), default=edge) - edge
        if away > 0:
            _move_left(group, round(away))


def _move_left(group: Element, away: int) -> None:
    """Move the glyphs and texts of a group."""
    for text in group.iter(TEXT):
        text.set("x", str(int(float(text.get("x", "0"))) - away))
    for glyph in group.iter(USE):
        transform = glyph.get("transform", "")
        place = GLYPH_PLACE.match(transform)
        if place:
            x = int(place[1]) - away
            glyph.set("transform", f"translate({x}{transform[place.end(1) :]}")


def right_edge(drawing: Drawing) -> float | None:
    """Return the place at the right up to which a text may reach; None for a picture of another
    kind."""
    inner, margins = drawing.inner, drawing.groups["page-margin"]
    view = VIEW_BOX.fullmatch(inner.get("viewBox", "")) if inner is not None else None
    margin = TRANSLATION.fullmatch(margins[0].get("transform", "")) if margins else None
    if view is None or margin is None:
        return None
    return float(view[1]) - int(margin[1]) - EDGE


def _space_symbols(drawing: Drawing, edge: float) -> None:
    """Move chord symbols that stand at one height to the left, off those after them, and off the
    right edge."""
    rows: dict[str, list[tuple[Element, Shape]]] = {}
    for group in drawing.groups["harm"]:
        for text in group.iter(TEXT):
            shape = text_shape(text)
            if shape is not None:
                rows.setdefault(text.get("y", "0"), []).append((text, shape))
    for row in rows.values():
        right = edge
        for text, shape in sorted(row, key=lambda one: -one[1].x0):
            away = max(0.0, shape.x1 - right)
            if away:
                text.set("x", str(int(float(text.get("x", "0")) - away)))
            right = shape.x0 - away - BETWEEN


def _end_of_measure(group: Element) -> int:
    """Return the right end of the staff of the measure that a group stands in, or 0."""
    measure = next((one for one in group.iterancestors(G) if one.get("class") == "measure"), None)
    paths = measure.iter(PATH) if measure is not None else ()
    lines = (STRAIGHT.fullmatch(path.get("d", "")) for path in paths
             if path.get("stroke-width") == STAFF_LINE)  # fmt: skip
    return max((int(line[3]) for line in lines if line), default=0)
