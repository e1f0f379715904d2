"""Tuplet numbers that the engraver sets inside the staff, and where they are read."""

from __future__ import annotations

from cyclechart.write.engraving.drawing import USE, Drawing, nearest_staff, staff_lines
from cyclechart.write.engraving.engraver_facts import GLYPH_PLACE, STAFF_HEIGHT

CLEARANCE = 40
"""The height of a number's foot above the top line."""


def fix_tuplet_numbers(drawing: Drawing) -> None:
    """Take each tuplet number that is on the lines of its staff above them.

    One beside its bracket stands where that does, which the engraver keeps off the staff.
    """
    for number in drawing.groups["tupletNum"]:
        lines = staff_lines(nearest_staff(number))
        for figure in number.iterfind(USE) if lines else ():
            transform = figure.get("transform", "")
            place = GLYPH_PLACE.match(transform)
            top = lines[0]
            if place and top - CLEARANCE // 2 < int(place[2]) < top + STAFF_HEIGHT:
                x = place[1]
                rest = transform[place.end(2) :]
                figure.set("transform", f"translate({x}, {top - CLEARANCE}{rest}")
