"""Syllables under a staff, free of one another and within the picture.

The engraver spaces notes by letters that are narrower than the page's, and leaves the last syllable
of a full system no room.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate
from typing import NamedTuple

from cyclechart.write.engraving.drawing import TEXT, Drawing, Element
from cyclechart.write.engraving.letter_widths import text_width
from cyclechart.write.engraving.svg_shapes import sized_runs
from cyclechart.write.engraving.text_margins import right_edge

BETWEEN = 50
"""The least distance between two syllables."""


class _Syllable(NamedTuple):
    """A syllable, with the place where it begins."""

    text: Element
    start: float
    width: float


def space_syllables(drawing: Drawing) -> None:
    """Move the syllables of each row apart where they would touch, and off the right edge."""
    edge = right_edge(drawing)
    if edge is None:
        return
    rows: dict[str, list[_Syllable]] = {}
    for syllable in _syllables(drawing):
        rows.setdefault(syllable.text.get("y", "0"), []).append(syllable)
    for row in rows.values():
        row.sort(key=lambda syllable: syllable.start)
        starts = spaced([one.start for one in row], [one.width for one in row], edge)
        for syllable, start in zip(row, starts, strict=True):
            if round(start - syllable.start):
                syllable.text.set("x", str(round(start)))


def _syllables(drawing: Drawing) -> Iterator[_Syllable]:
    for verse in drawing.groups["verse"]:
        for text in verse.iter(TEXT):
            runs = list(sized_runs(text, 0))
            if runs:
                width = sum(text_width(run, size) for run, size in runs)
                yield _Syllable(text, float(text.get("x", "0")), width)


def spaced(starts: Sequence[float], widths: Sequence[float], edge: float) -> list[float]:
    """Return the places nearest to some (by the sum of squares) where things of these widths stand
    apart, in their order, and end before an edge."""
    before = list(accumulate((width + BETWEEN for width in widths), initial=0.0))
    # Counted without the things before them they have only to be in order: those that are not
    # stand together at their mean.
    groups: list[tuple[float, int]] = []
    for start, offset in zip(starts, before, strict=False):
        total, count = start - offset, 1
        while groups and groups[-1][0] * count > total * groups[-1][1]:
            more, others = groups.pop()
            total, count = total + more, count + others
        groups.append((total, count))
    last = edge + BETWEEN - before[-1]
    places = [min(total / count, last) for total, count in groups for _ in range(count)]
    return [place + offset for place, offset in zip(places, before, strict=False)]
