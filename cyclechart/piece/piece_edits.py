"""Edits on the file of a piece: its cells, and the keys of its lines and players.

Each returns the edits, or () where they cannot be done: the piece was not read from a file, was
moved to another Sa, or is written in a way that does not allow them.
"""

from __future__ import annotations

from typing import Literal

from cyclechart.piece.derivation_reader import OPERATIONS
from cyclechart.piece.line import Cadence, Line
from cyclechart.piece.model import Liberty, Piece
from cyclechart.piece.note import Note
from cyclechart.piece.shape import PieceShape
from cyclechart.text.edits import Edits, between
from cyclechart.text.node_edits import (
    content_end,
    inserted,
    is_in_braces,
    item_added,
    item_removed,
    removed,
    replaced,
    scalar_text,
    with_key,
    with_value,
)
from cyclechart.text.nodes import Mapping, Scalar, Sequence
from cyclechart.text.passage_edits import edits_of

CadencePlace = Literal["gap", "inner", "outer", "first", "begins", "within"]
"""The key of a cadence that has a value: the gap of its statements (``inner`` in a chakradar), of
its rounds, of its first part; the beat that it begins on; its window."""


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


def step_added(piece: Piece, line: str) -> Edits:
    """Return the edits that play a line at the end of the form."""
    root = _mapping(piece)
    form = root.get("form") if root is not None else None
    return item_added(form, f"play: {scalar_text(line)}") if isinstance(form, Sequence) else ()


def liberty_removed(piece: Piece, liberty: Liberty) -> Edits:
    """Return the edits that take out a liberty, and the key above it with the only one."""
    root = _mapping(piece)
    liberties = root.get("liberties") if root is not None else None
    if root is None or not isinstance(liberties, Sequence):
        return ()
    for number, item in enumerate(liberties.items):
        if item.spot == liberty.spot:
            only = len(liberties.items) == 1
            return removed(root, "liberties") if only else item_removed(liberties, number)
    return ()


def player_added(piece: Piece, player: str) -> Edits:
    """Return the edits that write a player, ready with what they play, behind the others; () where
    nobody is written: the players that stand in then would be gone."""
    players = _mapping(piece, "players")
    return inserted(players, player, players.pairs) if players is not None else ()


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


def cadence_key_edits(
    piece: Piece, line: Line, cadence: Cadence, place: CadencePlace, value: str
) -> Edits:
    """Return the edits that give a key of a line's cadence a value, where it is written."""
    node = _with_cadence(piece, line, cadence)
    outer = node.get("cadence") if node is not None else None
    if node is None or not isinstance(outer, Mapping):
        return ()
    below = outer.get("cadence")
    inner = below if isinstance(below, Mapping) else outer
    match place:
        case "begins":
            return with_key(node if "begins" in node.pairs else outer, "begins", value)
        case "within":
            return with_key(outer, "within", value)
        case "outer":
            return with_key(outer, "gap", value)
        case "first":
            first = inner.get("first")
            return with_key(first, "gap", value) if isinstance(first, Mapping) else ()
    return with_key(inner, "gap", value)


def _with_cadence(piece: Piece, line: Line, cadence: Cadence) -> Mapping | None:
    """Return the line that a cadence is written in: the line itself, the one that it comes from, or
    the link of a chain that the cadence stands at."""
    while line.derivation is not None:
        line = piece.lines[line.derivation.source]
    node = _mapping(piece, "lines", line.name)
    chain = node.get("chain") if node is not None else None
    if isinstance(chain, Sequence):
        links = [item for item in chain.items if isinstance(item, Scalar)]
        named = next((link.text.strip() for link in links if link.spot == cadence.spot), "")
        node = _mapping(piece, "lines", named)
    return node if node is not None and "cadence" in node.pairs else None


def _mapping(piece: Piece, *keys: str) -> Mapping | None:
    return piece.nodes.mapping(*keys) if piece.nodes is not None else None
