"""Edits on the file of a piece: its cells, and the keys of its lines and players.

Each returns the edits, or () where they cannot be done: the piece was not read from a file, was
moved to another Sa, or is written in a way that does not allow them.
"""

from __future__ import annotations

from cyclechart.piece.derivation_reader import OPERATIONS
from cyclechart.piece.model import Piece
from cyclechart.piece.note import Note
from cyclechart.piece.shape import PieceShape
from cyclechart.text.node_edits import (
    Edits,
    between,
    content_end,
    is_in_braces,
    removed,
    replaced,
    with_key,
    with_value,
)
from cyclechart.text.nodes import Mapping, Scalar
from cyclechart.text.passage_edits import edits_of


def cell_edits(piece: Piece, note: Note, new: str) -> Edits:
    """Return the edits that write another text for the cell of a note."""
    if piece.nodes is None or note.spot.serial:
        return ()
    return piece.nodes.rewritten(note.spot, note.cell, new, back=note.within[0])


def line_key_edits(piece: Piece, line: str, key: str, value: str) -> Edits:
    """Return the edits that give a key of a line a value."""
    node = _mapping(piece, "lines", line)
    return with_key(node, key, value) if node is not None else ()


def line_key_removed(piece: Piece, line: str, key: str) -> Edits:
    """Return the edits that take a key out of a line."""
    node = _mapping(piece, "lines", line)
    return removed(node, key) if node is not None and key in node.pairs else ()


def top_key_edits(piece: Piece, key: str, value: str) -> Edits:
    """Return the edits that give a key of the piece a value."""
    node = _mapping(piece)
    keys = list(PieceShape.keys)
    return with_key(node, key, value, keys[: keys.index(key)]) if node is not None else ()


def player_key_edits(piece: Piece, player: str, key: str, value: str) -> Edits:
    """Return the edits that give a key of a player a value."""
    players = _mapping(piece, "players")
    node = players.get(player) if players is not None else None
    if isinstance(node, Mapping):
        return with_key(node, key, value)
    if isinstance(node, Scalar) and not node.text:
        return with_value(node, f"{{{key}: {value}}}", ready=True)
    return ()


def written_out_edits(piece: Piece, line: str, text: str) -> Edits:
    """Return the edits that write a line out in place of what it comes from and of what is done to
    it; ``text`` has a key a row."""
    node = _mapping(piece, "lines", line)
    if node is None or "from" not in node.pairs:
        return ()
    rows = text.split("\n")
    gone = [key for key in OPERATIONS if key in node.pairs]
    source = node.source
    if is_in_braces(node):
        start, end = node.start, content_end(node)
        written = source.text[start:end]
        if written[:1] != "{" or "\n" in written or "#" in written:
            return ()
        kept = [
            source.text[named.start : content_end(value)]
            for key, (named, value) in node.pairs.items()
            if key != "from" and key not in gone and value.start > named.end
        ]
        if len(kept) + len(gone) + 1 != len(node.pairs):
            return ()
        return (between(source, start, end, f"{{{', '.join([*rows, *kept])}}}"),)
    return edits_of(replaced(node, "from", text), *(removed(node, key) for key in gone))


def _mapping(piece: Piece, *keys: str) -> Mapping | None:
    return piece.nodes.mapping(*keys) if piece.nodes is not None else None
