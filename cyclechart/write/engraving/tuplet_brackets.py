"""Brackets of tuplets with room for their number."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from cyclechart.write.engraving.clearance import needed_lift
from cyclechart.write.engraving.drawing import POLYLINE, Element, attributes, replace_elements
from cyclechart.write.engraving.svg_boxes import Group, Tuplet
from cyclechart.write.engraving.svg_shapes import Point, line_shape, points_of

BESIDE = 45
"""The room between a number and the two halves of its bracket."""

SHORTEST = 60
"""The length of the shortest half of a bracket; one with less has none."""


class _End(NamedTuple):
    """An end of a bracket: the tip of its hook, and the corner where its line begins."""

    tip: Point
    corner: Point


def open_bracket(tuplet: Tuplet) -> None:
    """Open a bracket whose line runs through its number, or under it.

    One that would be hardly wider than the number is not drawn.
    """
    number, bracket = tuplet.number, tuplet.bracket
    if number is None or bracket is None or not bracket.polylines:
        return
    left, right = _ends(bracket)
    x0 = min(shape.x0 for shape in number.shapes) - BESIDE
    x1 = max(shape.x1 for shape in number.shapes) + BESIDE
    if x0 < left.corner[0] + SHORTEST or right.corner[0] - SHORTEST < x1:
        _redraw(bracket, ())
        return
    whole = len(bracket.polylines) == 1
    if not whole and not needed_lift(number.shapes, bracket.shapes, 0):
        return
    gap = [(x, _height(left.corner, right.corner, x)) for x in (x0, x1)]
    _redraw(bracket, ((*left, gap[0]), (*right, gap[1])))
    if whole:  # the number stood over the line
        _center(number, (gap[0][1] + gap[1][1]) / 2)


def _ends(bracket: Group) -> list[_End]:
    """The left end of a bracket and the right one."""
    lines = [points_of(line.get("points", "")) for line in bracket.polylines]
    last = lines[-1][::-1] if len(lines) == 1 else lines[-1]
    # The engraver writes the right half first where a bracket runs backwards from its number.
    return sorted((_End(*lines[0][:2]), _End(*last[:2])), key=lambda end: end.corner[0])


def _height(left: Point, right: Point, x: float) -> float:
    """The height at a place of the line between two points."""
    slope = (right[1] - left[1]) / (right[0] - left[0])
    return left[1] + slope * (x - left[0])


def _redraw(bracket: Group, lines: Sequence[Sequence[Point]]) -> None:
    """Draw a bracket with these lines instead of its own."""
    old = bracket.polylines
    new = [_polyline(old[0], points) for points in lines]
    half = float(old[0].get("stroke-width", "0")) / 2
    replace_elements(old, new)
    bracket.polylines = new
    bracket.shapes = [line_shape(pair, half) for points in lines for pair in pairwise(points)]
    bracket.redrawn = True


def _polyline(like: Element, points: Sequence[Point]) -> Element:
    """A line through some points, drawn with the pen of another."""
    pen = attributes(like)
    del pen["points"]
    drawn = " ".join(f"{round(x)},{round(y)}" for x, y in points)
    return like.makeelement(POLYLINE, {**pen, "points": drawn})


def _center(number: Group, height: float) -> None:
    """Move a number so that its middle stands at a height."""
    high = min(shape.y0 for shape in number.shapes)
    low = max(shape.y1 for shape in number.shapes)
    down = height - (high + low) / 2
    number.shapes = [shape.raised(-down) for shape in number.shapes]
    number.lift -= down
