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


def as_piece(
    drills: Sequence[Drill], *, title: str, tonic: str, mode: str, cycle: str, tempo: Fraction
) -> str:
    """The text of a piece: a line for each pattern, each said in cells of a group to the beat."""
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
        top = " ".join(["S'", *["-"] * (drill.held - 1)])
        lines += [
            f"  {drill.name}:",
            "    sargam: |",
            f"      {_cells(drill.rise)}",
            f"      {top}",
            f"      {_cells(drill.fall)}",
            "      S",
        ]
    return "\n".join(lines) + "\n"


def _cells(groups: Sequence[Sequence[int]]) -> str:
    return " ".join("".join(show_pitch(pitch) for pitch in group) for group in groups)


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
