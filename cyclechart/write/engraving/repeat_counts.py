"""The counts of repeats, in the drawing: ``×8`` over the repeat's closing barline.

The engraver would set it over the last note, upon what stands there.
"""

from __future__ import annotations

from collections.abc import Sequence

from cyclechart.arrange.sheet.measures import Measure
from cyclechart.write.engraving.clearance import needed_lift
from cyclechart.write.engraving.collisions import grow
from cyclechart.write.engraving.drawing import PATH, TEXT, TSPAN, Drawing, Element, G
from cyclechart.write.engraving.engraver_facts import STRAIGHT
from cyclechart.write.engraving.svg_boxes import SystemBoxes, system_boxes
from cyclechart.write.engraving.svg_shapes import Shape, text_shape

SIZE = 405
"""That of the engraver's own texts over a staff; a staff space is 180."""

OVER = 110
"""The height of its foot over the barline, where nothing is in its way."""

AIR = 90
"""The room at its sides."""


def add_repeat_counts(drawings: Sequence[Drawing], measures: Sequence[Measure]) -> None:
    """Write how often each repeat is played that is played more than twice and has no endings."""
    left = list(measures)
    for drawing in drawings:
        drawn = drawing.groups["measure"]
        here, left = left[: len(drawn)], left[len(drawn) :]
        counted = [
            (group, measure.times)
            for group, measure in zip(drawn, here, strict=True)
            if measure.times > 2 and not measure.ending
        ]
        if counted:
            _add_counts(drawing, counted)


def _add_counts(drawing: Drawing, counted: Sequence[tuple[Element, int]]) -> None:
    boxes = system_boxes(drawing)
    others = list(_all_shapes(boxes))
    for measure, times in counted:
        right, top = _closing_barline(measure)
        group = _count_group(measure, right, top - OVER, times)
        shape = text_shape(group[0])
        assert shape is not None
        lift = round(needed_lift([shape], others, AIR))
        if lift:
            group[0].set("y", str(top - OVER - lift))
        others.append(shape.raised(lift))
        measure.append(group)
        grow(drawing, shape.y0 - lift)


def _all_shapes(boxes: SystemBoxes) -> Sequence[Shape]:
    return [*boxes.fixed, *(shape for group in boxes.movable() for shape in group.shapes)]


def _closing_barline(measure: Element) -> tuple[int, int]:
    """Return the place of a measure's closing barline, behind which a courtesy signature may stand,
    and the top of its barlines or staff."""
    staff = next(group for group in measure.iter(G) if group.get("class") == "staff")
    lines = [match for path in staff.iterfind(PATH) if (match := _straight(path))]
    bars = [
        match
        for group in measure.iter(G)
        if group.get("class", "").startswith("barLine")
        for path in group.iterfind(PATH)
        if (match := _straight(path))
    ]
    heights = [int(match[2]) for match in lines] + [
        int(height) for match in bars for height in (match[2], match[4])
    ]
    ends = [int(match[3]) for match in (bars or lines)]
    return max(ends), min(heights)


def _straight(path: Element) -> tuple[str, str, str, str, str] | None:
    match = STRAIGHT.fullmatch(path.get("d", ""))
    return (match[0], match[1], match[2], match[3], match[4]) if match else None


def _count_group(measure: Element, right: int, foot: int, times: int) -> Element:
    """Return the text, which ends at ``right``, as the engraver would write it."""
    group = measure.makeelement(G, {"class": "dir repeatCount"})
    text = measure.makeelement(
        TEXT, {"x": str(right), "y": str(foot), "text-anchor": "end", "font-size": "0px"}
    )
    span = measure.makeelement(TSPAN, {"font-size": f"{SIZE}px", "font-weight": "bold"})
    span.text = f"×{times}"
    text.append(span)
    group.append(text)
    return group
