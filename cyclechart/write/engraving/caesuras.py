"""Cut-offs, which the engraver draws at the beginning of what follows."""

from __future__ import annotations

from cyclechart.write.engraving.drawing import USE, Drawing
from cyclechart.write.engraving.engraver_facts import GLYPH_PLACE
from cyclechart.write.engraving.svg_shapes import element_shapes

BEFORE = 40
"""The distance of the sign from the beginning of what follows."""


def fix_caesuras(drawing: Drawing) -> None:
    """Move each sign to the left, so that it ends where its note ends."""
    for group in drawing.groups["caesura"]:
        for use in group.iter(USE):
            place = GLYPH_PLACE.fullmatch(use.get("transform", ""))
            shapes = list(element_shapes(use, drawing.glyphs))
            if place is None or not shapes:
                continue
            wide = max(shape.x1 for shape in shapes) - min(shape.x0 for shape in shapes)
            x, y, scale = int(place[1]) - round(wide) - BEFORE, place[2], place[3]
            use.set("transform", f"translate({x}, {y}) scale({scale}, {scale})")
