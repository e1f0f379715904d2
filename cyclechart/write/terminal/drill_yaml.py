"""Practice patterns written as a piece file."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from cyclechart.theory.drill import Drill
from cyclechart.theory.exact import show_exact
from cyclechart.theory.tones import show_pitch

CAUTION = """\
# Common practice patterns, fitted to this mode's own ascent and descent. Grammars differ by teacher
# and lineage: your own teacher's comes first. Choose a Sa from which you reach S' without strain,
# begin slowly, and rest voice and hand between lines."""


CELLS_A_ROW = 16


def as_piece(
    drills: Sequence[Drill], *, title: str, tonic: str, mode: str, cycle: str, tempo: Fraction
) -> str:
    """The text of a piece: a line for each drill."""
    lines = [
        CAUTION,
        f"title: {_quoted(title)}",
        f"tonic: {tonic}",
        f"mode: {_quoted(mode)}",
        f"cycle: {_quoted(cycle)}",
        f"tempo: {show_exact(tempo)}",
        "",
        "lines:",
    ]
    for drill in drills:
        lines += [f"  {drill.name}:", "    sargam: |", *_rows(drill), "      S"]
    return "\n".join(lines) + "\n"


def _rows(drill: Drill) -> list[str]:
    """The beats as cells, in rows of whole groups; a row ends after a rest where there is one."""
    cells = ["z" if beat is None else "".join(map(show_pitch, beat)) or "-" for beat in drill.beats]
    rows: list[list[str]] = [[]]
    for cell in cells:
        if len(rows[-1]) >= CELLS_A_ROW and (rows[-1][-1] == "z" or "z" not in cells):
            rows.append([])
        rows[-1].append(cell)
    return [f"      {' '.join(row)}" for row in rows]


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
