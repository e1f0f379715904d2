"""Edits within the texts of music of a file: some of their characters replaced, however quoted."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from functools import cached_property, lru_cache
from typing import NamedTuple

from cyclechart.finding import Spot, Suggestion
from cyclechart.text.edits import Edits, between
from cyclechart.text.node_edits import (
    in_quotes,
    is_plain,
    scalar_text,
)
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.text.source import PlacedText


class FileNodes:
    """The nodes of a file, and its texts by their place."""

    def __init__(self, root: Node) -> None:
        self.root = root
        self._passages: dict[int, PlacedText] = {}

    @cached_property
    def scalars(self) -> dict[int, Scalar]:
        """Every text that is written, by its offset, in order."""
        found: dict[int, Scalar] = {}
        left = [self.root]
        while left:
            node = left.pop()
            if isinstance(node, Scalar):
                found.setdefault(node.start, node)
            elif isinstance(node, Mapping):
                left += [one for pair in node.pairs.values() for one in pair]
            elif isinstance(node, Sequence):
                left += node.items
        return dict(sorted(found.items()))

    @cached_property
    def _starts(self) -> list[int]:
        return list(self.scalars)

    def _passage(self, start: int) -> PlacedText:
        """Return the text that begins at an offset, each character with its place."""
        if start not in self._passages:
            self._passages[start] = self.scalars[start].passage()
        return self._passages[start]

    def mapping(self, *keys: str) -> Mapping | None:
        """Return the mapping under a path of keys from the root, if it is there."""
        node: Node | None = self.root
        for key in keys:
            node = node.get(key) if isinstance(node, Mapping) else None
        return node if isinstance(node, Mapping) else None

    def offset(self, spot: Spot) -> int | None:
        """Return the offset of a place, if its row is in the text as it is in the file."""
        source = self.root.source
        if spot.file != source.file or spot.line > len(source.starts):
            return None
        if spot.line - 1 in source.quoted:
            return None
        return source.starts[spot.line - 1] + spot.column - 1

    def rewritten(self, spot: Spot, old: str, new: str, *, back: int = 0) -> Edits:
        """Return the edits that put a text in place of another: of the one that begins so many
        characters before a place.

        () where something else stands there, or the row has a value quoted in memory.
        """
        offset = self.offset(spot)
        number = bisect_right(self._starts, offset) - 1 if offset is not None else -1
        if offset is None or number < 0:
            return ()
        scalar = self.scalars[self._starts[number]]
        passage = self._passage(self._starts[number])
        at = _index(passage, offset) if scalar.start <= offset <= scalar.end else None
        if at is None or at < back or not passage.text.startswith(old, at - back):
            return ()
        return rewritten_in(passage, Change(at - back, old, new))


class Change(NamedTuple):
    """A text in place of the one that stands at an index of a passage."""

    at: int
    old: str
    new: str


def rewritten_in(passage: PlacedText, *changes: Change) -> Edits:
    """Return the edits that do changes to a text of a file.

    A plain text that YAML would not read as text then is put in quotes.
    """
    source, text = passage.source, passage.text
    if passage.places and len(set(passage.places)) < len(passage.places):
        return ()  # its characters have no places of their own
    whole, edits, around = text, [], []
    for at, old, new in sorted(changes, reverse=True):
        first, last = _offset(passage, at), _offset(passage, at + len(old))
        edits.append(between(source, first, last, in_quotes(new, passage.style)))
        whole = whole[:at] + new + whole[at + len(old) :]
        around.append(whole[max(0, at - 2) : at + len(new) + 2])
    edits.reverse()
    if any(edit.spot.line - 1 in source.quoted for edit in edits):
        return ()  # the quotes are not in the file
    if passage.style is not None or not edits:
        return tuple(edits)
    # A text that could not stand in brackets as it is stands in none.
    in_brackets = _may_stand_in_brackets(text)
    # What YAML takes for a sign has two characters: only the ends and what is near a change matter.
    near = "x".join((whole[:2], *around, whole[-2:]))
    if is_plain(_in_one_row(near), in_brackets=in_brackets):
        return tuple(edits)
    start, end = _offset(passage, 0), _offset(passage, len(text))
    if '"' not in whole and "\\" not in whole:
        return (between(source, start, start, '"'), *edits, between(source, end, end, '"'))
    return () if "\n" in whole else (between(source, start, end, scalar_text(whole, "'")),)


def instead(passage: PlacedText, at: int, width: int, new: str, words: str = "") -> Suggestion:
    """Return the suggestion to write a text in place of characters of a passage."""
    change = Change(at, passage.text[at : at + width], new)
    return Suggestion(words or new, rewritten_in(passage, change))


def edits_of(*parts: Edits) -> Edits:
    """Return the edits of several changes together; () where one of them cannot be done."""
    return tuple(dict.fromkeys(edit for part in parts for edit in part)) if all(parts) else ()


@lru_cache(maxsize=16)
def _may_stand_in_brackets(text: str) -> bool:
    return is_plain(_in_one_row(text))


def _in_one_row(text: str) -> str:
    return " ".join(text.split("\n"))


def _index(passage: PlacedText, offset: int) -> int | None:
    """Return the index in a passage of the character at an offset, if it has one."""
    if passage.places is None:
        return offset - passage.base
    at = bisect_left(passage.places, offset)
    return at if passage.places[at : at + 1] == (offset,) else None


def _offset(passage: PlacedText, at: int) -> int:
    """Return the offset of the character at an index of a passage; past it, where it ends."""
    if passage.places is None:
        return passage.base + at
    return passage.places[at] if at < len(passage.places) else passage.end
