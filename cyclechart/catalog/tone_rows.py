"""Rows of tones as they are written in a definition: paths, phrases, rests."""

from __future__ import annotations

from collections.abc import Sequence as Row

from cyclechart.finding import Finding
from cyclechart.text import reading_rules
from cyclechart.text.line_tree import Cell, Group, Repeat, Slur
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.text.reading import read_line
from cyclechart.text.scripts import SARGAM_SCRIPT

MAX_PATH = 64


def row_of_tones(node: Node) -> tuple[tuple[int, ...], list[Finding]]:
    """Return tones in sargam, apart or run together; octave marks as in a line."""
    if not isinstance(node, Scalar):
        message = "this must be a row of tones"
        return (), [reading_rules.wrong_value(node.spot, message, ["S R G m P"])]
    passage = node.passage()
    if not passage.text.isascii():
        from cyclechart.text.typographic_signs import with_plain_signs

        passage = with_plain_signs(passage, "sargam")
    items, findings = read_line(passage, SARGAM_SCRIPT)
    for item in items:
        if isinstance(item, Group | Repeat | Slur):
            message = "a row of tones cannot have groups, repeats or slurs"
            spot = passage.spot(item.at, item.width)
            findings.append(reading_rules.bad_cell(spot, message, ["write the tones out"]))
    pitches = [
        element.value
        for item in items
        if isinstance(item, Cell)
        for element in item.elements
        if isinstance(element.value, int)
    ]
    if len(pitches) > MAX_PATH:
        findings.append(reading_rules.too_long(node.spot, f"a path has at most {MAX_PATH} tones"))
    return tuple(pitches[:MAX_PATH]), findings


def rows_under(node: Mapping, key: str) -> list[Scalar]:
    """Return the texts of the list under a key."""
    value = node.get(key)
    items = value.items if isinstance(value, Sequence) else ()
    return [item for item in items if isinstance(item, Scalar)]


def goes_the_way(path: Row[int], *, rising: bool) -> bool:
    """Return whether a path rises over its course to S' or above, or falls to S or below."""
    if not path:
        return False
    return path[-1] >= 12 and path[-1] > path[0] if rising else path[-1] <= 0 and path[-1] < path[0]
