"""Every place of a piece that names one of its lines."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from cyclechart.draft.piece_text import scalar
from cyclechart.finding import Edit
from cyclechart.piece.chord_rhythm import OWN, WRITTEN
from cyclechart.piece.line_text import unfit_name
from cyclechart.piece.under import NONE
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.text.source import Source

_NO_LINES = {"rhythm": (OWN, WRITTEN), "hits": ("accents",), "under": (NONE,)}
"""Words that these keys take in place of a line's name."""


class LineName(NamedTuple):
    """A name of a line where it is written; ``defines``: as the key of the line itself."""

    name: str
    node: Scalar
    defines: bool = False


def line_names(root: Mapping) -> list[LineName]:
    """Return every name of a line in a piece, in the order of the file, each place once."""
    lines = root.get("lines")
    known = dict(lines.pairs) if isinstance(lines, Mapping) else {}
    found = [LineName(name, key, True) for name, (key, _) in known.items()]
    for _, below in known.values():
        if isinstance(below, Mapping):
            found += _of_line(below)
    found += _of_key(root, "under")
    steps = root.get("form")
    for step in steps.items if isinstance(steps, Sequence) else ():
        if isinstance(step, Mapping):
            found += _of_step(step, known)
    liberties = root.get("liberties")
    for liberty in liberties.items if isinstance(liberties, Sequence) else ():
        if isinstance(liberty, Mapping):
            found += _of_key(liberty, "line")
    places = {one.node.start: one for one in reversed(found)}
    return [places[start] for start in sorted(places)]


def at_offset(names: list[LineName], offset: int) -> LineName | None:
    """Return the name that an offset of the text stands on, or right after, or None."""
    return next((one for one in names if one.node.start <= offset <= one.node.end), None)


def why_unfit(source: Source, names: list[LineName], old: str, new: str) -> str:
    """Return why a line cannot be called so, or ""."""
    new = new.strip()
    if not new:
        return "the name is empty"
    if new != old and any(one.defines and one.name == new for one in names):
        return f"there is a line '{new}' already"
    if new in (OWN, WRITTEN, NONE, "accents"):
        return f"'{new}' means something else where a line is named"
    fault = unfit_name(Scalar(source, 0, 0, new, None))
    return fault.message if fault is not None else ""


def renamed(names: list[LineName], old: str, new: str) -> list[Edit]:
    """Return the edits that give a line another name wherever it is named."""
    text = scalar(new.strip())
    edits = []
    for one in names:
        if one.name == old:
            source = one.node.source
            spot = source.spot(one.node.start, one.node.end - one.node.start)
            edits.append(Edit(spot, text))
    return edits


def _of_line(line: Mapping) -> Iterator[LineName]:
    for key in ("from", "chain", "rhythm"):
        yield from _of_key(line, key)
    cadence = line.get("cadence")
    for _ in range(8):
        if not isinstance(cadence, Mapping):
            return
        yield from _of_key(cadence, "line")
        first = cadence.get("first")
        if isinstance(first, Mapping):
            yield from _of_key(first, "line")
        cadence = cadence.get("cadence")


def _of_step(step: Mapping, known: dict[str, tuple[Scalar, Node]]) -> Iterator[LineName]:
    for key in ("play", "over", "under", "hits"):
        yield from _of_key(step, key)
    free = step.get("free")
    if isinstance(free, Scalar) and free.text.strip() in known:  # else it is a player
        yield from _names(free)


def _of_key(node: Mapping, key: str) -> Iterator[LineName]:
    """Yield the lines that stand under a key: a name, a list, or what a mapping's keys have."""
    value = node.get(key)
    if key == "hits" and isinstance(value, Mapping):
        value = value.get("line")
    words = _NO_LINES.get(key, ())
    values = [below for _, below in value.pairs.values()] if isinstance(value, Mapping) else [value]
    for one in values:
        for name in _names(one):
            if name.name not in words:
                yield name


def _names(node: Node | None) -> Iterator[LineName]:
    if isinstance(node, Scalar) and node.text.strip():
        yield LineName(node.text.strip(), node)
    elif isinstance(node, Sequence):
        for item in node.items:
            if isinstance(item, Scalar) and item.text.strip():
                yield LineName(item.text.strip(), item)
