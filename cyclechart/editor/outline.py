"""The lines, steps and players of a piece as an outline."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from cyclechart.piece.shape import VERBS
from cyclechart.text.node_edits import content_end
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence


class Entry(NamedTuple):
    """A line, step or player: from where to where it is in the text, and where its name is."""

    name: str
    kind: str
    start: int
    end: int
    name_start: int
    name_end: int
    below: tuple[Entry, ...] = ()


def outline(root: Mapping) -> Iterator[Entry]:
    """Yield the parts of a piece with what is in them."""
    for part, kind in (("players", "player"), ("lines", "line"), ("form", "step")):
        if part not in root.pairs:
            continue
        key, value = root.pairs[part]
        below = tuple(_steps(value) if kind == "step" else _named(value, kind))
        yield _entry(part, "part", key, value, below)


def _named(node: Node, kind: str) -> Iterator[Entry]:
    if isinstance(node, Mapping):
        for name, (key, value) in node.pairs.items():
            yield _entry(name, kind, key, value, ())


def _steps(node: Node) -> Iterator[Entry]:
    if not isinstance(node, Sequence):
        return
    for number, step in enumerate(node.items, start=1):
        if not isinstance(step, Mapping):
            continue
        verb = next((key for key in step.pairs if key in VERBS), next(iter(step.pairs), ""))
        if verb:
            key, value = step.pairs[verb]
            name = f"{number}. {verb} {_said(value)}".strip()
            yield Entry(name, "step", step.start, content_end(step), key.start, key.end)


def _said(node: Node) -> str:
    """Return what a step plays, in few words."""
    if isinstance(node, Scalar):
        return node.text.strip()
    if isinstance(node, Mapping):
        return ", ".join(f"{key}: {_said(value)}" for key, (_, value) in node.pairs.items())
    return ", ".join(_said(item) for item in node.items) if isinstance(node, Sequence) else ""


def _entry(name: str, kind: str, key: Scalar, value: Node, below: tuple[Entry, ...]) -> Entry:
    ends = [key.end, content_end(value), *(entry.end for entry in below)]
    return Entry(name or "?", kind, key.start, max(ends), key.start, key.end, below)
