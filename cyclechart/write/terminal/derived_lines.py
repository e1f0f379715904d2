"""The report on lines that come from others: what each became."""

from __future__ import annotations

from collections.abc import Iterator

from cyclechart.piece.line import Line
from cyclechart.piece.model import Piece
from cyclechart.piece.written_line import KEY_OF, music_of
from cyclechart.theory.exact import show_beats, show_exact


def as_text(piece: Piece) -> str:
    """A block for each line that comes from another, in the order of the file; "" for none."""
    return "\n".join(
        "".join(f"{row}\n" for row in _block(piece, line))
        for line in piece.lines.values()
        if line.derivation is not None
    )


def _block(piece: Piece, line: Line) -> Iterator[str]:
    spot = line.spot
    where = "" if line.free else f", from beat {show_exact(line.begins)}"
    yield f"{spot.file}:{spot.line}:{spot.column}: line from a line"
    yield f"  {line.name}: {line.derivation}; {show_beats(line.length)}{where}"
    yield f"  {KEY_OF[line.kind]}: {music_of(piece, line)}"


def as_data(piece: Piece) -> list[dict[str, object]]:
    """The same for a program: a mapping for each line."""
    return [
        {
            "file": line.spot.file,
            "line": line.spot.line,
            "column": line.spot.column,
            "name": line.name,
            "from": line.derivation.source,
            "by": str(line.derivation),
            "begins": show_exact(line.begins),
            "beats": show_exact(line.length),
            "kind": line.kind,
            "text": music_of(piece, line),
        }
        for line in piece.lines.values()
        if line.derivation is not None
    ]
