"""Edits within the texts of music of a file: some of their characters replaced, however quoted."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from functools import cached_property
from typing import NamedTuple

from cyclechart.finding import Spot
from cyclechart.text.node_edits import (
    Edits,
    between,
    in_quotes,
    is_in_braces,
    is_in_brackets,
    is_plain,
    scalar_text,
)
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.text.source import PlacedText


class FileNodes:
    """The nodes of a file, and its texts by their place."""

    def __init__(self, root: Node) -> None:
        self.root = root

    @cached_property
    def scalars(self) -> list[tuple[Scalar, bool]]:
        """Every text that is written, by its offset, and whether it stands in brackets."""
        found: dict[int, tuple[Scalar, bool]] = {}
        left: list[tuple[Node, bool]] = [(self.root, False)]
        while left:
            node, within = left.pop()
            if isinstance(node, Scalar):
                found.setdefault(node.start, (node, within))
            elif isinstance(node, Mapping):
                within = within or is_in_braces(node)
                left += [(one, within) for pair in node.pairs.values() for one in pair]
            elif isinstance(node, Sequence):
                within = within or is_in_brackets(node)
                left += [(item, within) for item in node.items]
        return [found[start] for start in sorted(found)]

    @cached_property
    def _starts(self) -> list[int]:
        return [scalar.start for scalar, _ in self.scalars]

    def mapping(self, *keys: str) -> Mapping | None:
        """Return the mapping under a path of keys from the root, if it is there."""
        node: Node | None = self.root
        for key in keys:
            node = node.get(key) if isinstance(node, Mapping) else None
        return node if isinstance(node, Mapping) else None

    def in_brackets(self, scalar: Scalar) -> bool:
        """Return whether a text stands in [ ] or { }."""
        return self.scalars[bisect_right(self._starts, scalar.start) - 1][1]

    def rewritten(self, spot: Spot, old: str, new: str, *, back: int = 0) -> Edits:
        """Return the edits that put a text in place of another: of the one that begins so many
        characters before a place, in a text of music.

        () where something else stands there, or the text has a value quoted in memory.
        """
        source = self.root.source
        if spot.line > len(source.starts) or spot.line - 1 in source.quoted:
            return ()
        offset = source.starts[spot.line - 1] + spot.column - 1
        number = bisect_right(self._starts, offset) - 1
        if number < 0:
            return ()
        scalar, in_brackets = self.scalars[number]
        if not scalar.start <= offset <= scalar.end:
            return ()
        passage = scalar.passage()
        at = _index(passage, offset)
        if at is None or passage.text[at - back : at - back + len(old)] != old or at < back:
            return ()
        return rewritten_in(scalar, [Change(at - back, old, new)], in_brackets=in_brackets)


class Change(NamedTuple):
    """A text in place of the one that stands at an index of a passage."""

    at: int
    old: str
    new: str


def rewritten_in(scalar: Scalar, changes: Iterable[Change], *, in_brackets: bool = True) -> Edits:
    """Return the edits that do changes to a text of music.

    A plain text that YAML would not read as text then is put in quotes.
    """
    passage, source = scalar.passage(), scalar.source
    if passage.places and len(set(passage.places)) < len(passage.places):
        return ()  # its characters have no places of their own
    whole, edits = passage.text, []
    for at, old, new in sorted(changes, reverse=True):
        first, last = _offset(scalar, passage, at), _offset(scalar, passage, at + len(old))
        edits.append(between(source, first, last, in_quotes(new, scalar.style)))
        whole = whole[:at] + new + whole[at + len(old) :]
    edits.reverse()
    if scalar.style is not None or not edits:
        return tuple(edits)
    if is_plain(" ".join(whole.split("\n")), in_brackets=in_brackets):
        return tuple(edits)
    if '"' not in whole and "\\" not in whole:
        opening = between(source, scalar.start, scalar.start, '"')
        return (opening, *edits, between(source, scalar.end, scalar.end, '"'))
    if "\n" in whole:
        return ()
    return (between(source, scalar.start, scalar.end, scalar_text(whole, "'")),)


def _index(passage: PlacedText, offset: int) -> int | None:
    """Return the index in a passage of the character at an offset, if it has one."""
    if passage.places is None:
        return offset - passage.base
    at = bisect_left(passage.places, offset)
    return at if passage.places[at : at + 1] == (offset,) else None


def _offset(scalar: Scalar, passage: PlacedText, at: int) -> int:
    """Return the offset of the character at an index of a passage; past it, where it ends."""
    if passage.places is None:
        return passage.base + at
    if at < len(passage.places):
        return passage.places[at]
    return scalar.end - 1  # the closing quote


def edits_of(*parts: Edits) -> Edits:
    """Return the edits of several changes together; () where one of them cannot be done."""
    return tuple(dict.fromkeys(edit for part in parts for edit in part)) if all(parts) else ()
