"""What the engraver sets upon something else is lifted clear of it, and the picture grows.

The engraver keeps the numbers and brackets of tuplets clear of notes, but of no tie, accidental or
beam of a grace note, and not of one another; and a label that has no room over its bracket it sets
upon it. Here they are lifted, those nearest the staff first, then what stands above them and would
be hit. Measures as in ``measuring``.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby, pairwise

from cyclechart.write.engraving.svg_boxes import (
    ROWS,
    Group,
    Shape,
    System,
    Tuplet,
    measured,
    outlined,
)

GAP = 50
"""How far above a thing the one stands that is lifted off it."""

TOUCH = 10
"""So far into one another two things may be drawn: less than the stroke of a line."""

AIR = 40
"""At the sides of what is lifted."""

BESIDE = 45
"""Between a number and the two halves of its bracket."""

SHORTEST = 60
"""Of a half of a bracket; one with less has none."""

EDGE = 20
"""Between the highest thing and the edge of the picture."""

OVER = 60
"""A label that stands over its bracket stands so far above the line."""

Edits = dict[tuple[int, int], bytes]
"""What is to stand in the place of some bytes of the picture, from where to where."""


def lifted(svg: str) -> str:
    """The picture of a system with nothing on its tuplets; itself, where nothing is."""
    if 'class="tuplet' not in svg and 'class="bracketSpan' not in svg:
        return svg
    data = svg.encode()
    system = measured(data)
    edits: Edits = {}
    lifts: defaultdict[int, float] = defaultdict(float)
    for tuplet in system.tuplets:
        _open(tuplet, edits, lifts)
    for group in system.floating:
        _off_its_line(group, lifts)
    placed, moved = list(system.fixed), []
    for tuplet in sorted(system.tuplets, key=lambda one: -one.depth):
        raised, up = _lift(tuplet.groups, placed, placed, lifts, AIR)
        placed += raised
        if up:
            moved += raised
    music = list(placed)
    spans: list[Shape] = []
    words: list[Shape] = []
    for groups in _rows(system):
        own, others = (spans, words) if groups[0].kind == "bracketSpan" else (words, spans)
        raised, up = _lift(groups, [*music, *others, *moved], placed, lifts, 0)
        placed += raised
        own += raised
        if up or any(group.label for group in groups):
            moved += raised
    for at, up in lifts.items():
        if round(up):
            edits[at, at] = f' transform="translate(0, {-round(up)})"'.encode()
    if not edits:
        return svg
    return _grown(_edited(data, edits).decode(), min((shape.y0 for shape in moved), default=0))


def _lift(
    groups: Sequence[Group],
    near: Iterable[Shape],
    others: Iterable[Shape],
    lifts: defaultdict[int, float],
    air: int,
) -> tuple[list[Shape], float]:
    """Lift some groups together off all ``others`` if they are upon something ``near``, or so near
    at its side (``air``): their shapes then, and how far that was."""
    shapes = [shape for group in groups for shape in group.shapes]
    up = clear(shapes, others) if clear(shapes, near, air) else 0.0
    for group in groups:
        lifts[group.at] += up
    return [shape.raised(up) for shape in shapes], up


def clear(shapes: Sequence[Shape], others: Iterable[Shape], air: int = AIR) -> float:
    """How far some shapes must be lifted to stand upon nothing; 0 where they are free.

    ``air``: what is so near at the sides counts too.
    """
    if not shapes:
        return 0.0
    left, right = min(s.x0 for s in shapes) - air, max(s.x1 for s in shapes) + air
    foot = max(s.y1 for s in shapes)
    near = [o for o in others if o.x0 < right and left < o.x1 and o.y0 < foot]
    pairs = [
        (shape, *span)
        for shape in _columns(shapes)
        for other in near
        if other.x0 < shape.x1 + air and shape.x0 - air < other.x1
        and (span := other.within(shape.x0 - air, shape.x1 + air))
    ]  # fmt: skip
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


def _columns(shapes: Iterable[Shape], wide: float = 180) -> Iterator[Shape]:
    """Boxes alone: what is slanted is cut into columns, each as high as what lies in it."""
    for shape in shapes:
        if not shape.lines:
            yield shape
            continue
        count = max(1, round((shape.x1 - shape.x0) / wide))
        step = (shape.x1 - shape.x0) / count
        for at in range(count):
            x0 = shape.x0 + at * step
            span = shape.within(x0, x0 + step)
            if span:
                yield Shape(x0, span[0], x0 + step, span[1])


def _rows(system: System) -> Iterator[list[Group]]:
    """What stands above the staff, a row of one kind together, the lowest first."""

    def row(group: Group) -> tuple[float, str, float]:
        if group.kind in ROWS:
            return -group.foot, group.kind, 0
        return -max(shape.y1 for shape in group.shapes), group.kind, group.at

    above = [
        group
        for group in system.floating
        if group.shapes and min(shape.y0 for shape in group.shapes) < system.top
    ]
    for _, held in groupby(sorted(above, key=row), key=row):
        yield list(held)


def _off_its_line(bracket: Group, lifts: defaultdict[int, float]) -> None:
    """A label that stands over its bracket is taken off the line where it stands upon it."""
    if bracket.label is None:
        return
    *lines, label = bracket.shapes
    line = min(shape.y0 for shape in lines)
    up = max(0.0, bracket.foot - (line - OVER))
    lifts[bracket.label] = up
    bracket.shapes[-1] = label.raised(up)


def _open(tuplet: Tuplet, edits: Edits, lifts: defaultdict[int, float]) -> None:
    """A bracket whose line runs through its number, or under it, is opened for it.

    One that would be hardly wider than the number is not drawn.
    """
    number, bracket = tuplet.number, tuplet.bracket
    if number is None or bracket is None:
        return
    ends = [_points(line) for line in bracket.polylines]
    whole = len(ends) == 1
    # The engraver writes the right half first where a bracket runs backwards from its number.
    hooks = sorted((ends[0][:2], ends[-1][:1:-1] if whole else ends[-1][:2]), key=_corner)
    (first, left), (last, right) = hooks
    x0 = min(shape.x0 for shape in number.shapes) - BESIDE
    x1 = max(shape.x1 for shape in number.shapes) + BESIDE
    if x0 < left[0] + SHORTEST or right[0] - SHORTEST < x1:
        bracket.shapes = []
        edits[bracket.inner, bracket.end] = b""
        return
    if not whole and not clear(number.shapes, bracket.shapes, 0):
        return
    slope = (right[1] - left[1]) / (right[0] - left[0])
    gap = [(x, left[1] + slope * (x - left[0])) for x in (x0, x1)]
    pen = {key: value for key, value in bracket.polylines[0].items() if key != "points"}
    drawn = []
    bracket.shapes = []
    for points in ((first, left, gap[0]), (last, right, gap[1])):
        said = " ".join(f"{round(x)},{round(y)}" for x, y in points)
        drawn.append(
            "<polyline " + "".join(f'{k}="{v}" ' for k, v in pen.items()) + f'points="{said}" />'
        )
        half = float(pen.get("stroke-width", "0")) / 2
        bracket.shapes += [outlined(pair, half) for pair in pairwise(points)]
    edits[bracket.inner, bracket.end] = "".join(drawn).encode()
    if whole:  # the number stood over the line
        middle = (gap[0][1] + gap[1][1]) / 2
        high = min(shape.y0 for shape in number.shapes)
        low = max(shape.y1 for shape in number.shapes)
        down = middle - (high + low) / 2
        number.shapes = [shape.raised(-down) for shape in number.shapes]
        lifts[number.at] -= down


def _corner(hook: list[tuple[float, float]]) -> float:
    return hook[1][0]


def _points(line: dict[str, str]) -> list[tuple[float, float]]:
    pairs = (pair.split(",") for pair in line["points"].split())
    return [(float(x), float(y)) for x, y in pairs]


def _edited(data: bytes, edits: Edits) -> bytes:
    parts, done = [], 0
    for (start, end), new in sorted(edits.items()):
        parts += [data[done:start], new]
        done = end
    return b"".join([*parts, data[done:]])


_VIEW = re.compile(r'viewBox="0 0 (\S+) (\S+)"')
_MARGIN = re.compile(r'class="page-margin" transform="translate\((\d+), (\d+)\)"')


def _grown(svg: str, high: float) -> str:
    """The picture with room for what stands so high."""
    margin = _MARGIN.search(svg)
    views = list(_VIEW.finditer(svg))[:2]
    if margin is None or len(views) < 2 or int(margin[2]) + high >= EDGE:
        return svg
    outer, inner = views
    scale = round(float(inner[2]) / float(outer[2]))
    grow = -int((int(margin[2]) + high - EDGE) // scale)
    fitting = (
        (outer, f'viewBox="0 0 {outer[1]} {int(outer[2]) + grow}"'),
        (inner, f'viewBox="0 0 {inner[1]} {int(inner[2]) + grow * scale}"'),
        (
            margin,
            f'class="page-margin" transform="translate({margin[1]}, '
            f'{int(margin[2]) + grow * scale})"',
        ),
    )
    for match, new in reversed(fitting):
        svg = svg[: match.start()] + new + svg[match.end() :]
    return svg
