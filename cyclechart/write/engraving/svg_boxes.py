"""The boxes of all that an engraved system shows, read from its drawing.

Places are those within the margin of the page.
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import inf

from cyclechart.write.engraving.drawing import POLYLINE, RECT, TEXT, Drawing, Element, G
from cyclechart.write.engraving.engraver_facts import FLOATING, KNOWN, UNMEASURED
from cyclechart.write.engraving.svg_shapes import Shape, element_shapes, text_shape

SLUR_ROOM = 30
"""The room over a slur."""


@dataclass
class Group:
    """A group of the drawing that can be moved."""

    element: Element
    kind: str
    order: int = 0
    """Its number among those that float."""

    shapes: list[Shape] = field(default_factory=list)
    foot: float = 0
    """The line that its text stands on."""

    label: Element | None = None
    """A bracket's label, where that stands over its line."""

    label_in_line: bool = False
    """True for a bracket whose label has a white ground, within the line."""

    polylines: list[Element] = field(default_factory=list)
    """A bracket's lines."""

    lift: float = 0
    """The distance that it is to be moved up."""

    label_lift: float = 0
    """The distance that its label is to be moved up within it."""

    redrawn: bool = False
    """True once its lines are no longer those of the engraver."""

    @property
    def changed(self) -> bool:
        """True if it is to be drawn otherwise than it was."""
        return self.redrawn or bool(round(self.lift) or round(self.label_lift))


@dataclass
class Tuplet:
    """A tuplet's number and bracket; ``depth`` counts the tuplets that it stands in, ``staff`` the
    staves above its own."""

    depth: int
    staff: int = 0
    number: Group | None = None
    bracket: Group | None = None

    @property
    def groups(self) -> list[Group]:
        """Its number and its bracket, where it has them."""
        return [group for group in (self.number, self.bracket) if group]


@dataclass
class SystemBoxes:
    """The boxes of a system: what stays, the tuplets, and what can stand higher."""

    fixed: list[Shape] = field(default_factory=list)
    tuplets: list[Tuplet] = field(default_factory=list)
    floating: list[Group] = field(default_factory=list)
    top: float = 0
    """The top of the staff."""
    staves: list[tuple[float, float]] = field(default_factory=list)
    """The top and the foot of each staff, from above."""
    in_staff: list[tuple[int, int, int]] = field(default_factory=list)
    """The staves above each run of what stays, and from where to where it goes."""
    verses: list[tuple[int, Shape]] = field(default_factory=list)
    """The syllables under the staves, each with the number of staves above its own."""

    def movable(self) -> Iterator[Group]:
        """Yield all that can be moved."""
        for tuplet in self.tuplets:
            yield from tuplet.groups
        yield from self.floating


def staff_boxes(drawing: Drawing) -> list[SystemBoxes]:
    """Return the boxes of each staff of a score, from above, with all that stands over it."""
    boxes = system_boxes(drawing)
    staves = sorted(set(boxes.staves))
    middles = [(top + foot) / 2 for top, foot in staves]
    homes = {at: staff for staff, *run in boxes.in_staff for at in range(*run)}
    found = [SystemBoxes(top=top, staves=[(top, foot)]) for top, foot in staves]
    for staff, shape in boxes.verses:
        found[staff].verses.append((staff, shape))
    for at, shape in enumerate(boxes.fixed):
        if at in homes:
            found[homes[at]].fixed.append(shape)
            continue
        # A tie between two staves may be of either.
        over = -inf
        for (_, foot), home in zip(staves, found, strict=True):
            if shape.y1 > over and shape.y0 < foot:
                home.fixed.append(shape)
            over = foot
    for group in boxes.floating:
        found[bisect(middles[:-1], _middle(group))].floating.append(group)
    for tuplet in boxes.tuplets:
        found[tuplet.staff].tuplets.append(tuplet)
    return found


def _middle(group: Group) -> float:
    """Return the height of the middle of a group."""
    lows, highs = [s.y0 for s in group.shapes], [s.y1 for s in group.shapes]
    return (min(lows, default=0.0) + max(highs, default=0.0)) / 2


def system_boxes(drawing: Drawing) -> SystemBoxes:
    """Read the boxes of a drawing as the engraver writes it."""
    reader = _Reader(drawing)
    if drawing.inner is not None:
        reader.read(drawing.inner, "", None)
    return reader.boxes


class _Reader:
    """Reads a tree from its root on; each group hands down its kind, and itself if it can move."""

    def __init__(self, drawing: Drawing) -> None:
        self.boxes = SystemBoxes()
        self.glyphs = drawing.glyphs
        self.open: list[Tuplet] = []
        self.staff = 0
        """The staves read of a measure."""

    def read(self, parent: Element, kind: str, group: Group | None) -> None:
        """Read what stands in an element of this kind."""
        measured = kind and kind not in UNMEASURED
        for element in parent:
            tag = element.tag
            if tag == G:
                self.read_group(element, kind, group)
            elif tag == TEXT and kind == "verse":
                self.read_syllable(element)
            elif measured and tag == TEXT:
                self.read_text(element, kind, group)
            elif measured:
                self.read_shape(element, kind, group)

    def read_group(self, element: Element, kind: str, group: Group | None) -> None:
        """Read a group; one of a kind that is not known belongs to what is around it."""
        own = element.get("class", "").partition(" ")[0]
        if own in KNOWN:
            kind, group = own, self.movable_group(element, own)
        if own == "measure":
            self.staff = 0
        if own != "tuplet":
            first = len(self.boxes.fixed)
            self.read(element, kind, group)
            if own == "staff":
                self.boxes.in_staff.append((self.staff, first, len(self.boxes.fixed)))
                self.staff += 1
            return
        tuplet = Tuplet(len(self.open), self.staff)
        self.boxes.tuplets.append(tuplet)
        self.open.append(tuplet)
        self.read(element, kind, group)
        self.open.pop()

    def movable_group(self, element: Element, kind: str) -> Group | None:
        """Return a new group for what can be moved, ``None`` for what cannot."""
        if kind in FLOATING:
            group = Group(element, kind, len(self.boxes.floating))
            self.boxes.floating.append(group)
        elif kind == "tupletNum":
            group = self.open[-1].number = Group(element, kind)
        elif kind == "tupletBracket":
            group = self.open[-1].bracket = Group(element, kind)
        else:
            return None
        return group

    def read_syllable(self, element: Element) -> None:
        """Read a syllable under a staff."""
        shape = text_shape(element)
        if shape is not None:
            self.boxes.verses.append((self.staff, shape))

    def read_text(self, element: Element, kind: str, group: Group | None) -> None:
        """Read a text."""
        shape = text_shape(element)
        if shape is None:
            return
        if group is None:
            self.boxes.fixed.append(shape)
            return
        group.foot = float(element.get("y", "0"))
        if kind == "bracketSpan" and not group.label_in_line:
            group.label = element
        group.shapes.append(shape)

    def read_shape(self, element: Element, kind: str, group: Group | None) -> None:
        """Read anything else that is drawn."""
        if group is not None:
            if kind == "bracketSpan" and element.tag == RECT:
                group.label_in_line = True
                return
            if element.tag == POLYLINE:
                group.polylines.append(element)
            group.shapes += element_shapes(element, self.glyphs)
        elif kind == "staff":
            for line in element_shapes(element, self.glyphs):
                self.add_staff_line(line)
        else:
            shapes = list(element_shapes(element, self.glyphs))
            self.boxes.fixed += shapes
            if kind == "slur":  # Its top slants past the corner of a sign: it needs more room.
                self.boxes.fixed += [shape.raised(SLUR_ROOM) for shape in shapes]

    def add_staff_line(self, line: Shape) -> None:
        """Add a line of a staff: they are one box, with what is between them."""
        fixed = self.boxes.fixed
        if fixed and (fixed[-1].x0, fixed[-1].x1) == (line.x0, line.x1):
            fixed[-1] = fixed[-1]._replace(y1=line.y1)
            self.boxes.staves[-1] = self.boxes.staves[-1][0], line.y1
        else:
            self.boxes.top = line.y0
            fixed.append(line)
            self.boxes.staves.append((line.y0, line.y1))
