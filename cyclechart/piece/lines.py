"""All lines of a piece, from its ``lines:``."""

from __future__ import annotations

from collections.abc import Callable

from cyclechart.finding import Finding
from cyclechart.piece.heading import eduppu_from
from cyclechart.piece.line import Line
from cyclechart.piece.line_builder import LineBuilder
from cyclechart.piece.line_limits import wrong_count
from cyclechart.piece.line_modes import LineModes
from cyclechart.piece.shape import PieceShape
from cyclechart.text.nodes import Mapping
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.spelling import Tonic


def lines_from(
    shape: PieceShape,
    root: Mapping,
    tonic: Tonic,
    cycle_of: Callable[[str], Cycle | None],
    modes: LineModes,
) -> tuple[dict[str, Line | None], list[Finding]]:
    """Return the lines by name, in the order written; None for one without music.

    ``cycle_of`` is the cycle that a line stands in, by its name; None where none is known.
    ``modes`` are the modes that lines are played in.
    """
    node = root.get("lines")
    if not isinstance(node, Mapping):
        return {}, []
    wrong = wrong_count(node)
    if wrong is not None:
        return {}, [wrong]
    eduppu, findings = eduppu_from(shape.eduppu, root.get("eduppu"))
    builder = LineBuilder(shape.lines, node, tonic, cycle_of, eduppu, modes)
    builder.findings += findings
    return builder.lines(), builder.findings
