"""The sizes of things in an SVG: texts by their font, glyphs by outline, lines by points."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import typst
from fontTools.misc.transform import Identity, Transform
from fontTools.pens.boundsPen import BoundsPen
from fontTools.pens.recordingPen import RecordingPen
from fontTools.svgLib.path import parse_path
from lxml import etree

Element = etree._Element
Point = tuple[float, float]

FONTS = ("Libertinus Serif", "New Computer Modern Math")
"""The fonts that chart.typ names."""

COLUMN = 12.0
"""What is slanted or bent is measured in columns so wide."""


class Ink(NamedTuple):
    """A text of one em: how wide, how far above its line, how far below.

    What hovers, as × does, is taken to reach down to its line.
    """

    width: float
    up: float
    down: float


_MEASURING = """
#let data = json(bytes(sys.inputs.data))
#context for item in data.items {
  let set-text(..edges) = text(
    font: data.fonts, size: 100pt, lang: "en",
    weight: if item.at(1) { "bold" } else { "regular" },
    style: if item.at(2) { "italic" } else { "normal" },
    ..edges, item.at(0),
  )
  let above = measure(set-text(top-edge: "bounds", bottom-edge: "baseline"))
  let below = measure(set-text(top-edge: "baseline", bottom-edge: "bounds"))
  [#metadata((above.width.pt(), above.height.pt(), below.height.pt())) <ink>]
}
"""

known: dict[tuple[str, bool, bool], Ink] = {}


def inks(wanted: Iterable[tuple[str, bool, bool]]) -> dict[tuple[str, bool, bool], Ink]:
    """Return the width and height at which typst draws texts (text, bold, italic), each once."""
    unknown = sorted(set(wanted) - set(known))
    if unknown:
        found = json.loads(
            typst.query(  # type: ignore[type-var]  # takes a dict too
                {"main.typ": _MEASURING.encode()},
                "<ink>",
                field="value",
                sys_inputs={"data": json.dumps({"items": unknown, "fonts": FONTS})},
                ignore_system_fonts=True,
            )
        )
        for key, (width, up, down) in zip(unknown, found, strict=True):
            known[key] = Ink(width / 100, up / 100, down / 100)
    return known


@lru_cache(maxsize=1024)
def outline(path: str) -> tuple[float, float, float, float] | None:
    """The bounds of a path, its curves measured and not their handles."""
    pen = BoundsPen(None)
    parse_path(path, pen)
    return pen.bounds  # type: ignore[no-any-return]


def scale(place: Transform) -> float:
    return abs(float(place[3]))


@lru_cache(maxsize=1024)
def transform_of(said: str) -> Transform:
    place = Identity
    for name, values in re.findall(r"(\w+)\(([^)]*)\)", said):
        numbers = [float(value) for value in re.split(r"[ ,]+", values.strip())]
        if name == "translate":
            place = place.translate(*numbers)
        elif name == "scale":
            place = place.scale(*numbers)
        elif name == "matrix":
            place = place.transform(Transform(*numbers))
        else:
            raise ValueError(f"a transform that is not measured: {said}")
    return place


def view_transform(svg: Element) -> Transform:
    """From an inner picture's units to those of the one around it, which it fills."""
    x, y, width, height = map(float, svg.get("viewBox", "0 0 0 0").split())
    outer = svg.getparent()
    assert outer is not None
    _, _, wide, high = map(float, outer.get("viewBox", "0 0 0 0").split())
    scale = min(wide / width, high / height)
    left, top = (wide - width * scale) / 2, (high - height * scale) / 2
    return Identity.translate(left, top).scale(scale).translate(-x, -y)


def lines(name: str, element: Element) -> Iterator[list[Point]]:
    """The points of each line of a shape, curves as sixteen of them."""
    if name in ("polygon", "polyline"):
        numbers = [float(n) for n in re.split(r"[ ,]+", element.get("points", "").strip())]
        points = list(zip(numbers[::2], numbers[1::2], strict=True))
        yield points + points[:1] if name == "polygon" else points
    elif name == "ellipse":
        x, y, rx, ry = (float(element.get(key, "0")) for key in ("cx", "cy", "rx", "ry"))
        yield [(x - rx, y - ry), (x + rx, y + ry)]
    elif name == "rect":
        x, y, w, h = (float(element.get(key, "0")) for key in ("x", "y", "width", "height"))
        yield [(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)]
    else:
        pen = RecordingPen()
        parse_path(element.get("d", ""), pen)
        points = []
        for said, given in pen.value:
            if said == "moveTo":
                if len(points) > 1:
                    yield points
                points = [given[0]]
            elif said == "lineTo":
                points.append(given[0])
            elif said == "curveTo":
                points += _curve(points[-1], *given)
            elif said == "qCurveTo":
                points += given
            elif said == "closePath":
                points.append(points[0])
        if len(points) > 1:
            yield points


def _curve(a: Point, b: Point, c: Point, d: Point) -> list[Point]:
    made = []
    for step in range(1, 17):
        t = step / 16
        parts = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
        x, y = (sum(p * q[i] for p, q in zip(parts, (a, b, c, d), strict=True)) for i in (0, 1))
        made.append((x, y))
    return made


def is_upright(points: Sequence[Point]) -> bool:
    return all(a[0] == b[0] or a[1] == b[1] for a, b in pairwise(points))


def columns(points: Sequence[Point], wide: float) -> Iterator[list[Point]]:
    """A line as columns so wide, each as high as what lies in it."""
    columns: dict[int, list[Point]] = {}
    for a, b in pairwise(points):
        steps = max(1, int(abs(b[0] - a[0]) / wide * 4))
        for step in range(steps + 1):
            x, y = (a[i] + (b[i] - a[i]) * step / steps for i in (0, 1))
            columns.setdefault(int(x // wide), []).append((x, y))
    for at, held in sorted(columns.items()):
        # Up to where the next one begins.
        following = columns.get(at + 1)
        yield [*held, min(following)] if following else held
