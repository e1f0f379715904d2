"""What is shown of the thing under the cursor or the mouse."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from cyclechart.editor.analysis import Analysis
from cyclechart.editor.cursor import ITEM, cursor_at
from cyclechart.editor.key_help import key_help
from cyclechart.editor.keys import place_of
from cyclechart.editor.line_facts import line_facts, note_facts
from cyclechart.editor.line_names import at_offset, line_names
from cyclechart.editor.notes_at import note_at
from cyclechart.finding import Spot
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.write.terminal.cards import mode_card
from cyclechart.write.terminal.cycle_card import cycle_card


class Shown(NamedTuple):
    """Sentences on a thing of the text, from where to where it stands (offsets), and a card."""

    sentences: tuple[str, ...]
    start: int
    end: int
    card: str = ""


def shown_at(analysis: Analysis, offset: int) -> Shown | None:
    """Return what is known of the thing at an offset of the text, or None."""
    spot = analysis.source.spot(offset)
    piece = analysis.piece
    at = note_at(piece, spot.line, spot.column) if piece is not None else None
    if piece is not None and at is not None:
        start = analysis.source.starts[at.note.spot.line - 1] + at.note.spot.column - 1
        return Shown(tuple(note_facts(piece, at)), start, start + at.note.spot.width)
    return _name_at(analysis, offset) or _card_at(analysis, offset) or _key_at(analysis, spot)


def _name_at(analysis: Analysis, offset: int) -> Shown | None:
    root, piece = analysis.root, analysis.piece
    if root is None or piece is None:
        return None
    name = at_offset(line_names(root), offset)
    line = piece.lines.get(name.name) if name is not None else None
    if name is None or line is None:
        return None
    start, end = _written(analysis, name.node)
    return Shown(tuple(line_facts(piece, line)), start, end)


def _card_at(analysis: Analysis, offset: int) -> Shown | None:
    """The card of the mode or the cycle whose name stands at an offset."""
    root, piece = analysis.root, analysis.piece
    for key, value in _named(root) if root is not None else ():
        start, end = _written(analysis, value)
        if not start <= offset <= end:
            continue
        spot = Spot("", 1, 1)
        if key == "mode":
            mode, _ = analysis.library.mode(value.text.strip(), spot)
            if mode is not None and piece is not None:
                return Shown((), start, end, "\n".join(mode_card(mode, piece.tonic)))
        else:
            cycle, _ = analysis.library.cycle(value.text.strip(), spot)
            if cycle is not None:
                return Shown((), start, end, "\n".join(cycle_card(cycle)))
    return None


def _named(node: Node) -> Iterator[tuple[str, Scalar]]:
    """Yield the names under ``mode`` and ``cycle`` anywhere in a piece."""
    if isinstance(node, Sequence):
        for item in node.items:
            yield from _named(item)
    elif isinstance(node, Mapping):
        for key, (_, value) in node.pairs.items():
            if key in ("mode", "cycle") and isinstance(value, Scalar):
                yield key, value
            else:
                yield from _named(value)


def _key_at(analysis: Analysis, spot: Spot) -> Shown | None:
    """The help on the key that a place stands on."""
    rows = analysis.source.text.split("\n")
    row = rows[spot.line - 1]
    end = spot.column - 1
    while end < len(row) and (row[end].isalnum() or row[end] == "-"):
        end += 1
    if row[end : end + 1] != ":":
        return None
    cursor = cursor_at(rows, spot.line - 1, end)
    key = cursor.word if cursor.writes == "key" else ""
    path = cursor.path[:-1] if cursor.path[-1:] == (ITEM,) and not key else cursor.path
    help_ = key_help().get(place_of(path), {}).get(key)
    if help_ is None:
        return None
    start = analysis.source.starts[spot.line - 1] + end - len(key)
    return Shown((help_.meaning, f"`{help_.example}`"), start, start + len(key))


def _written(analysis: Analysis, node: Scalar) -> tuple[int, int]:
    """Return from where to where a node is in the text as it is written."""
    spot = node.source.spot(node.start)
    start = analysis.source.starts[spot.line - 1] + spot.column - 1
    return start, start + node.end - node.start
