"""Texts of complex scripts inside an engraved picture, drawn as outlines.

Text inside an SVG loses its advances and its joined letters on the page, so what is not Latin is
shaped here and drawn as a path, with its text beside it as a title.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from cyclechart.text.direction import as_drawn
from cyclechart.text.display import tidy
from cyclechart.write.engraving.drawing import PATH, TEXT, Drawing, Element, G, replace_elements
from cyclechart.write.engraving.engraver_facts import SVG
from cyclechart.write.engraving.shaped_text import (
    BOLD,
    REGULAR,
    Piece,
    Run,
    font_at,
    run_scale,
    run_width,
    runs_of,
    shaped,
)
from cyclechart.write.files.fonts import PLAIN, family_of, installed, needs_more

_NUMBER = re.compile(r"-?[\d.]+")


def outline_texts(drawing: Drawing) -> None:
    """Draw the texts in other scripts than Latin as outlines.

    Nothing is changed without the plain font, which is needed beside any other.
    """
    if not needs_more(drawing.text) or installed(PLAIN) is None:
        return
    for text in list(drawing.root.iter(TEXT)):
        pieces = list(_pieces(text, 0, REGULAR))
        if any(needs_more(sign) and family_of(sign) for piece in pieces for sign in piece.text):
            replace_elements([text], [_outline(text, pieces)])


def _outline(text: Element, pieces: Sequence[Piece]) -> Element:
    """The outlines of a text, in its place."""
    runs = as_drawn(runs_of(pieces), lambda run: run.level)
    width = sum(run_width(run) for run in runs)
    share = {"middle": 0.5, "end": 1.0}.get(text.get("text-anchor", ""), 0.0)
    x, y = float(text.get("x", "0")), float(text.get("y", "0"))
    label = "".join(piece.text for piece in pieces)
    group = text.makeelement(G, {"class": "outlined", "role": "img", "aria-label": label})
    title = group.makeelement(f"{SVG}title", {})
    title.text = label
    path = group.makeelement(
        PATH,
        {
            # The picture's style sheet gives every path a stroke; its own style goes before it.
            "style": "stroke:none",
            "fill": "currentColor",
            "d": _path(runs, x - share * width, y),
        },
    )
    group.extend((title, path))
    return group


def _pieces(element: Element, size: float, weight: int) -> Iterator[Piece]:
    """The texts within an element, each with the size and weight that hold there."""
    number = _NUMBER.match(element.get("font-size", ""))
    size = float(number[0]) if number else size
    given = element.get("font-weight")
    weight = weight if given is None else BOLD if given in ("bold", "700") else REGULAR
    if len(element) == 0:
        plain = tidy(element.text or "")
        if plain:
            yield Piece(plain, size, weight)
    for child in element:
        yield from _pieces(child, size, weight)
        # What follows a part within its own line; the engraver's own indentation does not count.
        if child.tail and child.tail.strip():
            yield Piece(tidy(child.tail), size, weight)


def _path(runs: Sequence[Run], x: float, y: float) -> str:
    """The outlines of some runs as a path that begins at x on the line y."""
    from fontTools.pens.svgPathPen import SVGPathPen
    from fontTools.pens.transformPen import TransformPen

    pen = SVGPathPen(None, ntos=_short)
    for run in runs:
        scale, font = run_scale(run), font_at(run.family, run.weight)
        for glyph in shaped(run):
            at = (x + glyph.dx * scale, y - glyph.dy * scale)
            font.draw_glyph_with_pen(glyph.number, TransformPen(pen, (scale, 0, 0, -scale, *at)))
            x += glyph.advance * scale
    return str(pen.getCommands())


def _short(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0")
