"""The lift that shapes need to stand upon nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from cyclechart.write.engraving.svg_shapes import Shape

GAP = 50
"""The distance between a thing and the one that is lifted off it."""

TOUCH = 10
"""The depth to which two things may be drawn into one another: less than the stroke of a line."""

AIR = 40
"""The room at the sides of what is lifted."""

COLUMN = 180
"""The width, roughly, of the columns that a slanted shape is cut into."""


def needed_lift(shapes: Sequence[Shape], others: Iterable[Shape], air: int = AIR) -> float:
    """Return the lift that some shapes need to stand upon nothing; 0 where they are free.

    ``air``: what is so near at the sides counts too.
    """
    if not shapes:
        return 0.0
    pairs = list(_facing(shapes, others, air))
    up, touch = 0.0, TOUCH
    while True:
        more = max(
            (
                shape.y1 - up - high + GAP
                for shape, high, low in pairs
                if shape.y0 - up < low - touch and high < shape.y1 - up - touch
            ),
            default=0,
        )
        if more <= 0:
            return up
        up, touch = up + more, 0


def _facing(
    shapes: Sequence[Shape], others: Iterable[Shape], air: int
) -> Iterator[tuple[Shape, float, float]]:
    """Each column of the shapes with the top and the foot of another shape above or under it."""
    left, right = min(s.x0 for s in shapes) - air, max(s.x1 for s in shapes) + air
    foot = max(s.y1 for s in shapes)
    near = [o for o in others if o.x0 < right and left < o.x1 and o.y0 < foot]
    for shape in columns(shapes) if near else ():
        x0, x1 = shape.x0 - air, shape.x1 + air
        for other in near:
            if other.x0 < x1 and x0 < other.x1 and (span := other.within(x0, x1)):
                yield shape, *span


def columns(shapes: Iterable[Shape]) -> Iterator[Shape]:
    """Yield boxes alone: what is slanted is cut into columns, each as high as what lies in it."""
    for shape in shapes:
        if not shape.lines:
            yield shape
            continue
        count = max(1, round((shape.x1 - shape.x0) / COLUMN))
        step = (shape.x1 - shape.x0) / count
        for at in range(count):
            x0 = shape.x0 + at * step
            span = shape.within(x0, x0 + step)
            if span:
                yield Shape(x0, span[0], x0 + step, span[1])
