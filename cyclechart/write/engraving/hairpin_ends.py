"""Hairpins, which the engraver draws through the dynamics that stand at their ends."""

from __future__ import annotations

from collections.abc import Sequence

from cyclechart.write.engraving.drawing import POLYLINE, Drawing, Element
from cyclechart.write.engraving.svg_shapes import Shape, group_shapes

GAP = 60
"""The distance of a hairpin from a dynamic."""

LEAST = 80
"""The least length of a hairpin: a shorter one is no sign any more."""


def fix_hairpins(drawing: Drawing) -> None:
    """Cut each hairpin back to the dynamics before and after it."""
    hairpins = drawing.groups["hairpin"]
    if not hairpins:
        return
    dynamics = [
        box for group in drawing.groups["dynam"] for box in group_shapes(group, drawing.glyphs)
    ]
    for hairpin in hairpins:
        for line in hairpin.iter(POLYLINE):
            _cut_back(line, dynamics)


def _cut_back(line: Element, dynamics: Sequence[Shape]) -> None:
    pairs = [pair.split(",") for pair in line.get("points", "").split()]
    points = [(float(x), float(y)) for x, y in pairs]
    if len(points) < 2:
        return
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    top, foot = min(y for _, y in points), max(y for _, y in points)
    start, end = left, right
    for box in dynamics:
        if box.y1 < top or box.y0 > foot or box.x1 < left - GAP or box.x0 > right + GAP:
            continue
        middle = (box.x0 + box.x1) / 2
        if middle - left < right - middle:
            start = max(start, box.x1 + GAP)
        else:
            end = min(end, box.x0 - GAP)
    if (start, end) == (left, right):
        return
    if end - start < LEAST:
        end = start + LEAST
    share = (end - start) / max(right - left, 1)
    moved = [f"{round(start + (x - left) * share)},{round(y)}" for x, y in points]
    line.set("points", " ".join(moved) + " ")
