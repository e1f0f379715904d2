"""Texts over a staff that would run out of the picture at its right, moved back into it."""

from __future__ import annotations

from cyclechart.write.engraving.drawing import TEXT, Drawing
from cyclechart.write.engraving.engraver_facts import TRANSLATION, VIEW_BOX
from cyclechart.write.engraving.svg_shapes import text_shape

EDGE = 20
"""The distance of a text from the edge, in the units of a drawing."""


def keep_texts_inside(drawing: Drawing) -> None:
    """Move texts that leave the picture at its right back to its edge, "To Coda" over a last note
    among them."""
    inner, margins = drawing.inner, drawing.groups["page-margin"]
    view = VIEW_BOX.fullmatch(inner.get("viewBox", "")) if inner is not None else None
    margin = TRANSLATION.fullmatch(margins[0].get("transform", "")) if margins else None
    if view is None or margin is None:
        return
    right = float(view[1]) - int(margin[1]) - EDGE
    for group in drawing.groups["dir"]:
        for text in group.iter(TEXT):
            shape = text_shape(text)
            if shape is not None and shape.x1 > right:
                text.set("x", str(int(float(text.get("x", "0")) - (shape.x1 - right))))
