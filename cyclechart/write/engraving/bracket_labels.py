"""The labels of brackets, in the drawing: each set into its bracket's line."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from cyclechart.arrange.sheet.model import Strain
from cyclechart.write.engraving.drawing import PATH, RECT, TEXT, Drawing, Element
from cyclechart.write.engraving.engraver_facts import STRAIGHT
from cyclechart.write.engraving.mei_brackets import bracket_id

LABEL_SIZE = 340
"""In the engraver's units; a staff space is 180."""

HIGHEST = 280
"""The least depth of a text's foot: higher up, it would leave the picture."""


def label_brackets(drawings: Sequence[Drawing], strain: Strain, part: int) -> None:
    """Set the label of each bracket of a strain into its line, where that is longest.

    ``part``: the strain's number in a score, 0 where it stands alone.
    """
    for number, span in enumerate(strain.brackets):
        name = bracket_id(strain, number, part)
        lines = [
            (group, line) for drawing in drawings for group, line in _drawn_parts(drawing, name)
        ]
        if lines and span.label:
            group, line = max(lines, key=lambda part: _length(part[1]))
            group.extend(_label(group, line, span.label))


def _drawn_parts(drawing: Drawing, name: str) -> Iterator[tuple[Element, re.Match[str]]]:
    """The parts of a bracket in a system, each with its line."""
    for group in drawing.groups["bracketSpan"]:
        if group.get("id") == name or f"id-{name}" in group.get("class", "").split():
            lines = (STRAIGHT.fullmatch(path.get("d", "")) for path in group.iterfind(PATH))
            line = next(filter(None, lines), None)
            if line:
                yield group, line


def _length(line: re.Match[str]) -> int:
    return int(line[3]) - int(line[1])


def _label(bracket: Element, line: re.Match[str], label: str) -> Iterator[Element]:
    """The elements of a label for a line."""
    start, height, end, _ = map(int, line.groups())
    fitting = [text for text in _shorter(label) if _width(text) < end - start - LABEL_SIZE]
    middle = (start + end) // 2
    if not fitting:  # over the line, where it has no room in it
        yield _text(bracket, middle, max(height - 60, HIGHEST), list(_shorter(label))[-1])
        return
    width = _width(fitting[0])
    ground = {
        "x": middle - width // 2, "y": height - 60, "width": width, "height": 120,
        # The engraver's own style sheet gives every rect a stroke, which an attribute does not
        # undo.
        "fill": "white", "style": "stroke:none",
    }  # fmt: skip
    yield bracket.makeelement(RECT, {key: str(value) for key, value in ground.items()})
    yield _text(bracket, middle, height + LABEL_SIZE // 3, fitting[0])


def _text(bracket: Element, middle: int, foot: int, words: str) -> Element:
    text = bracket.makeelement(
        TEXT,
        {
            "x": str(middle),
            "y": str(foot),
            "text-anchor": "middle",
            "font-size": f"{LABEL_SIZE}px",
            "font-style": "italic",
        },
    )
    text.text = words
    return text


def _shorter(label: str) -> Iterator[str]:
    """A label, then without its last part, and so on."""
    yield label
    for sign in (", ", " "):
        while sign in label:
            label = label.rpartition(sign)[0]
            yield label


def _width(text: str) -> int:
    """The width of a text, roughly, with a little room on both sides."""
    return int(LABEL_SIZE * (len(text) * 0.5 + 0.5))
