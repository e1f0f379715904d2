"""The parentheses of ghost notes, in the drawing: clear of a cymbal over them."""

from __future__ import annotations

from cyclechart.write.engraving.drawing import USE, Drawing, used_glyph
from cyclechart.write.engraving.engraver_facts import GLYPH_PLACE, LEFT_PAREN, RIGHT_PAREN
from cyclechart.write.engraving.svg_shapes import glyph_bounds

SMALLER = 0.68
"""The size of the parentheses: little more than a notehead high, to the engraver's."""


def fix_ghost_notes(drawing: Drawing) -> None:
    """Draw the parentheses of noteheads smaller, at their distance from the head."""
    for use in drawing.root.iter(USE):
        code = used_glyph(use)
        parent = use.getparent()
        if code not in (LEFT_PAREN, RIGHT_PAREN) or parent is None:
            continue
        place = GLYPH_PLACE.match(use.get("transform", ""))
        bounds = glyph_bounds(drawing.glyphs[code].get("d", ""))
        if parent.get("class") != "notehead" or place is None or bounds is None:
            continue
        x, y, scale = int(place[1]), int(place[2]), float(place[3])
        smaller = round(scale * SMALLER, 3)
        # The side towards the head stays where it is.
        x += round(bounds[2] * (scale - smaller)) if code == LEFT_PAREN else 0
        use.set("transform", f"translate({x}, {y}) scale({smaller}, {smaller})")
