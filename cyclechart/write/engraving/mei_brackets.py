"""Brackets and open ties in the engraver's own document, and their labels in the drawing."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from html import escape

from cyclechart.arrange.part_notes import Written
from cyclechart.arrange.sheet.brackets import Span
from cyclechart.arrange.sheet.model import Strain
from cyclechart.piece.model import Note

LABEL_SIZE = 340
"""In the engraver's units; a staff space is 180."""


HIGHEST = 280
"""A text's foot stands so far down at least, or it would leave the picture."""


def needs_drawing(strain: Strain) -> bool:
    """Whether a strain has what is put into the engraver's own document."""
    return bool(strain.spans) or any(_tied_in(note) for note in strain.notes)


def _tied_in(note: Note) -> bool:
    return isinstance(note, Written) and note.tied_in


def engraved(mei: str, strain: Strain, part: int = 0) -> str:
    """The engraver's own document of a strain with the brackets put in, short ones lowest, and the
    ties of notes that go on from what is not drawn before them.

    It reads those of MusicXML, but closes the wrong one where two stand at once. ``part``: the
    strain's number in a score, 0 where it stands alone.
    """
    note = f"p{part}-n-{strain.letter}" if part else f"n-{strain.letter}"
    last = {}
    for match in re.finditer(rf'xml:id="({note}-(\d+)(?:-\d+)?)"', mei):
        last[int(match[2])] = match[1]
    # Those that begin in a system stand in its first measure: what comes first there is set
    # nearest to the staff.
    placed: defaultdict[int, list[str]] = defaultdict(list)
    for number, span in sorted(enumerate(strain.spans), key=_breadth):
        start = mei.index(f'xml:id="{note}-{span.first}"')
        system = max(mei.rfind("<sb ", 0, start), 0)
        placed[mei.index("</measure>", system)].append(
            f'<bracketSpan xml:id="{_name(strain, number, part)}" staff="{part or 1}" '
            f'startid="#{note}-{span.first}" endid="#{last[span.last]}" '
            f'func="unspecified" lstartsym="angledown" lendsym="angledown" '
            f'lform="{"solid" if span.kind == "statement" else "dashed"}" />'
        )
    for number, written in enumerate(strain.notes):
        if _tied_in(written):
            at = mei.index(f'xml:id="{note}-{number}"')
            placed[mei.index("</measure>", at)].append(
                f'<tie tstamp="0" endid="#{note}-{number}" />'
            )
    parts, done = [], 0
    for at, brackets in sorted(placed.items()):
        parts += [mei[done:at], *brackets]
        done = at
    return "".join([*parts, mei[done:]])


def _breadth(item: tuple[int, Span]) -> tuple[bool, int]:
    return item[1].kind == "statement", item[1].last - item[1].first


def _name(strain: Strain, number: int, part: int) -> str:
    return f"p{part}-b-{strain.letter}-{number}" if part else f"b-{strain.letter}-{number}"


_LINE = re.compile(r'<path d="M(\d+) (\d+) L(\d+) \d+"')


def with_labels(systems: Iterable[str], strain: Strain, part: int = 0) -> list[str]:
    """The systems of a strain, each bracket's label set into its line where that is longest."""
    labelled = list(systems)
    for number, span in enumerate(strain.spans):
        name = _name(strain, number, part)
        drawn = re.compile(
            rf'<g (?:id="{name}" class="bracketSpan"|class="bracketSpan id-{name} spanning")>'
            r".*?</g>",
            re.DOTALL,
        )
        parts = [
            (int(line[3]) - int(line[1]), -at, match.end(), line)
            for at, svg in enumerate(labelled)
            for match in drawn.finditer(svg)
            if (line := _LINE.search(match[0]))
        ]
        if parts and span.label:
            _, at, end, line = max(parts, key=lambda part: part[:2])
            svg = labelled[-at]
            close = end - len("</g>")
            labelled[-at] = svg[:close] + _label(line, span.label) + svg[close:]
    return labelled


def _label(line: re.Match[str], label: str) -> str:
    start, height, end = map(int, line.groups())
    fitting = [text for text in _shorter(label) if _width(text) < end - start - LABEL_SIZE]
    middle = (start + end) // 2
    if not fitting:  # over the line, where it has no room in it
        return _text(middle, max(height - 60, HIGHEST), list(_shorter(label))[-1])
    width = _width(fitting[0])
    # The engraver's own style sheet gives every rect a stroke, which an attribute does not undo.
    return (
        f'<rect x="{middle - width // 2}" y="{height - 60}" width="{width}" height="120" '
        f'fill="white" style="stroke:none" />{_text(middle, height + LABEL_SIZE // 3, fitting[0])}'
    )


def _text(middle: int, foot: int, text: str) -> str:
    return (
        f'<text x="{middle}" y="{foot}" text-anchor="middle" '
        f'font-size="{LABEL_SIZE}px" font-style="italic">{escape(text)}</text>'
    )


def _shorter(label: str) -> Iterator[str]:
    """A label, then without its last part, and so on."""
    yield label
    for sign in (", ", " "):
        while sign in label:
            label = label.rpartition(sign)[0]
            yield label


def _width(text: str) -> int:
    """About so wide, with a little room on both sides."""
    return int(LABEL_SIZE * (len(text) * 0.5 + 0.5))
