"""Time signatures that can be read: their two rows apart on one line, their sums not jammed.

The engraver sets the rows of a signature right upon each other, as five lines want it; on a staff
of one line nothing tells them apart. The numbers of a sum touch the + between them. Here the rows
are parted and the figures of a sum are narrowed, each about its own middle, so that no signature
needs more room and nothing else moves.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

APART = 45
"""How far each row is moved off a lone line; 180 units are a staff space."""

NARROWER = 0.86
"""The width of a sum's numbers, to their own."""

SMALLER = 0.72
"""The size of a sum's +, to its own."""

_WIDTHS = {
    "0": 454, "1": 336, "2": 442, "3": 412, "4": 427, "5": 397, "6": 422, "7": 444, "8": 404,
    "9": 425, "C": 342, "D": 253,
}  # fmt: skip
"""How wide the engraver's font (Leipzig) sets each figure of a signature, and its two plus signs
(C, D), in thousandths of its size: ``h-a-x`` in the font's own table of glyphs."""

_PLUS = "CD"

_PART = re.compile(
    r'class="(?P<kind>[^"]+)"'
    r'|<use xlink:href="#E08(?P<code>[\dCD])-[^"]*" transform="translate\((?P<x>-?\d+), '
    r'(?P<y>-?\d+)\) scale\((?P<size>[\d.]+), [\d.]+\)"'
    r'|<path d="M-?\d+ (?P<line>-?\d+) L-?\d+ (?P=line)" stroke-width="13"'
)


@dataclass(frozen=True)
class _Figure:
    """A figure of a signature: where it is written in the picture, what it is, where it stands."""

    match: re.Match[str]
    lines: tuple[int, ...]
    """Those of its staff."""

    @property
    def code(self) -> str:
        return self.match["code"]

    @property
    def x(self) -> int:
        return int(self.match["x"])

    @property
    def y(self) -> int:
        return int(self.match["y"])

    @property
    def size(self) -> float:
        return float(self.match["size"])

    @property
    def end(self) -> float:
        return self.x + _WIDTHS[self.code] * self.size

    def drawn(self, middle: float, summed: bool) -> str:
        """It anew; narrower about a ``middle`` where it is ``summed``."""
        y, wide, high = self.y, 1.0, 1.0
        if len(self.lines) == 1 and y != self.lines[0]:
            y += APART if y > self.lines[0] else -APART
        if summed:
            wide, high = (SMALLER, SMALLER) if self.code in _PLUS else (NARROWER, 1.0)
        x = middle + (self.x - middle) * wide
        start, end = self.match.span()
        text = self.match.string[start:end]
        size = f"{self.size * wide:.4g}, {self.size * high:.4g}"
        return text[: text.index("transform=")] + (
            f'transform="translate({round(x)}, {y}) scale({size})"'
        )


def parted(svg: str) -> str:
    """The picture of a system with its time signatures clear; itself, where it shows none."""
    if 'class="meterSig' not in svg:
        return svg
    parts: list[str] = []
    done = 0
    for signature in _signatures(svg):
        summed = any(figure.code in _PLUS for figure in signature)
        for number in _numbers(signature):
            middle = (number[0].x + number[-1].end) / 2
            for figure in number:
                parts += [svg[done : figure.match.start()], figure.drawn(middle, summed)]
                done = figure.match.end()
    return "".join([*parts, svg[done:]])


def _signatures(svg: str) -> Iterator[list[_Figure]]:
    """The figures of each signature, in the order of the picture."""
    lines: list[int] = []
    found: list[_Figure] = []
    staff = signature = False
    for match in _PART.finditer(svg):
        kind = match["kind"]
        if kind is not None:
            inside = signature and kind == "meterSig"  # one of several in a group
            if found and not inside:
                yield found
                found = []
            signature = kind in ("meterSig", "meterSigGrp")
            staff = kind == "staff"
            if staff:
                lines = []
        elif match["line"] is not None:
            if staff:
                lines.append(int(match["line"]))
        elif signature:
            found.append(_Figure(match, tuple(lines)))
    if found:
        yield found


def _numbers(signature: list[_Figure]) -> Iterator[list[_Figure]]:
    """Figures side by side that are one number, and each + alone."""
    number: list[_Figure] = []
    for figure in signature:
        follows = (
            number
            and figure.y == number[-1].y
            and figure.code not in _PLUS
            and number[-1].code not in _PLUS
            and abs(figure.x - number[-1].end) < 20
        )
        if number and not follows:
            yield number
            number = []
        number.append(figure)
    if number:
        yield number
