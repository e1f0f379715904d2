"""The removal of collisions from a system: things that stand upon others are lifted off them.

The engraver keeps the numbers and brackets of tuplets clear of notes, but of no tie, accidental or
beam of a grace note, and not of one another; and a label that has no room over its bracket it sets
upon it. Here they are lifted, those nearest the staff first, then what stands above them and would
be hit, and the picture grows. Measures as in ``svg_shapes``.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from math import inf

from cyclechart.write.engraving.clearance import AIR, GAP, TOUCH, needed_lift
from cyclechart.write.engraving.drawing import Drawing, Element, set_first
from cyclechart.write.engraving.engraver_facts import ROWS, TRANSLATION, VIEW_BOX
from cyclechart.write.engraving.svg_boxes import Group, SystemBoxes, staff_boxes, system_boxes
from cyclechart.write.engraving.svg_shapes import Shape
from cyclechart.write.engraving.tuplet_brackets import open_bracket

EDGE = 20
"""The room between the highest thing and the edge of the picture."""

OVER = 60
"""The height of a label above the line of its bracket, where it stands over it."""


def fix_collisions(drawing: Drawing, *, words: bool = False) -> None:
    """Lift tuplets, brackets and the groups above them off all that they stand upon.

    ``words``: there are words over notes, which the engraver sets upon the rings of first beats.
    """
    if not (words or has_movable(drawing)):
        return
    moved = _lifted(system_boxes(drawing))
    if moved:
        grow(drawing, min(shape.y0 for shape in moved))


def has_movable(drawing: Drawing) -> bool:
    """Return whether anything but words may have to be lifted, or to be lifted off.

    The dashes of a text that goes on from the system before are set upon the signs of claps.
    """
    if any(drawing.groups[kind] for kind in ("tuplet", "bracketSpan", "slur", "caesura")):
        return True
    return any("spanning" in text.get("class", "").split() for text in drawing.groups["dir"])


def fix_score_collisions(drawing: Drawing) -> float:
    """Lift what stands over each staff of a score off all that it stands upon.

    Returns the room between two staves that what is lifted would need to stand under the staff
    above; 0 where it does.
    """
    boxes = staff_boxes(drawing)
    if len(boxes) < 2:
        fix_collisions(drawing)
        return 0.0
    needed = 0.0
    for number, staff in enumerate(boxes):
        moved = _lifted(staff, rows_apart=True)
        if moved and not number:
            grow(drawing, min(shape.y0 for shape in moved))
        if not number:
            continue
        labelled = [group for group in staff.floating if group.kind == "bracketSpan"]
        ours = [*moved, *(shape.raised(group.lift) for group in labelled for shape in group.shapes)]
        if depth := _depth(ours, boxes[number - 1]):
            needed = max(needed, staff.top - boxes[number - 1].staves[-1][1] + depth)
    return needed


def _depth(shapes: Sequence[Shape], above: SystemBoxes) -> float:
    """Return how deep shapes stand in what belongs to the staff above them, the syllables under it
    too; 0 where they do not."""
    music = [*above.fixed, *(shape for group in above.movable() for shape in group.shapes)]
    music += [shape for _, shape in above.verses]
    music += [Shape(-inf, top, inf, foot) for top, foot in above.staves]
    return max(
        (
            other.y1 - shape.y0 + GAP
            for shape in shapes
            for other in music
            if shape.x0 < other.x1 and other.x0 < shape.x1
            if other.y0 < shape.y1 and shape.y0 < other.y1 - TOUCH
        ),
        default=0.0,
    )


def _lifted(boxes: SystemBoxes, *, rows_apart: bool = False) -> list[Shape]:
    """Lift what stands over a staff; return the shapes of all that has moved.

    ``rows_apart``: rows of texts are lifted off one another too, which in a score may be set at one
    height over different notes.
    """
    for tuplet in boxes.tuplets:
        open_bracket(tuplet)
    for group in boxes.floating:
        _lift_label(group)
    moved = _lift_all(boxes, rows_apart)
    changed = [group for group in boxes.movable() if group.changed]
    for group in changed:
        _move_up(group.element, group.lift)
        if group.label is not None:
            _move_up(group.label, group.label_lift)
    return moved if changed else []


def _lift_label(bracket: Group) -> None:
    """Take a label that stands over its bracket off the line, where it stands upon it."""
    if bracket.label is None:
        return
    *lines, label = bracket.shapes
    line = min(shape.y0 for shape in lines)
    bracket.label_lift = max(0.0, bracket.foot - (line - OVER))
    bracket.shapes[-1] = label.raised(bracket.label_lift)


def _lift_all(boxes: SystemBoxes, rows_apart: bool) -> list[Shape]:
    """Lift tuplets, the inner ones first, then what is above the staff, row by row: the shapes of
    all that has moved or can have left the picture."""
    placed = list(boxes.fixed)
    moved: list[Shape] = []
    for tuplet in sorted(boxes.tuplets, key=lambda one: -one.depth):
        raised, up = _lift(tuplet.groups, placed, placed, AIR)
        placed += raised
        if up:
            moved += raised
    music = list(placed)
    spans: list[Shape] = []
    words: list[Shape] = []
    for groups in _rows(boxes):
        own, others = (spans, words) if groups[0].kind == "bracketSpan" else (words, spans)
        raised, up = _lift(groups, [*music, *others, *moved, *own], placed, 0)
        placed += raised
        own += raised
        if up or any(group.label is not None for group in groups):
            moved += raised
    return moved


def _lift(
    groups: Sequence[Group], near: Iterable[Shape], others: Iterable[Shape], air: int
) -> tuple[list[Shape], float]:
    """Lift some groups together off all ``others`` if they are upon something ``near``, or so near
    at its side (``air``): their shapes then, and how far that was."""
    shapes = [shape for group in groups for shape in group.shapes]
    up = needed_lift(shapes, others) if needed_lift(shapes, near, air) else 0.0
    if not up:
        return shapes, up
    for group in groups:
        group.lift += up
    return [shape.raised(up) for shape in shapes], up


def _rows(boxes: SystemBoxes) -> Iterator[list[Group]]:
    """The groups above the staff, a row of one kind together, the lowest first."""

    def row(group: Group) -> tuple[float, str, int]:
        if group.kind in ROWS:
            return -group.foot, group.kind, 0
        return -max(shape.y1 for shape in group.shapes), group.kind, group.order

    above = [
        group
        for group in boxes.floating
        if group.shapes and min(shape.y0 for shape in group.shapes) < boxes.top
    ]
    for _, groups in groupby(sorted(above, key=row), key=row):
        yield list(groups)


def _move_up(element: Element, up: float) -> None:
    if round(up):
        set_first(element, "transform", f"translate(0, {-round(up)})")


def grow(drawing: Drawing, high: float) -> None:
    """Give the picture room for what stands so high."""
    inner, margins = drawing.inner, drawing.groups["page-margin"]
    if inner is None or not margins:
        return
    margin = TRANSLATION.fullmatch(margins[0].get("transform", ""))
    outer_view = VIEW_BOX.fullmatch(drawing.root.get("viewBox", ""))
    inner_view = VIEW_BOX.fullmatch(inner.get("viewBox", ""))
    if not (margin and outer_view and inner_view) or int(margin[2]) + high >= EDGE:
        return
    scale = round(float(inner_view[2]) / float(outer_view[2]))
    more = -int((int(margin[2]) + high - EDGE) // scale)
    drawing.root.set("viewBox", f"0 0 {outer_view[1]} {int(outer_view[2]) + more}")
    inner.set("viewBox", f"0 0 {inner_view[1]} {int(inner_view[2]) + more * scale}")
    margins[0].set("transform", f"translate({margin[1]}, {int(margin[2]) + more * scale})")
