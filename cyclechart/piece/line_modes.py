"""The mode that each line is played in, known before the lines are read."""

from __future__ import annotations

from collections.abc import Mapping as Table
from typing import NamedTuple

from cyclechart.catalog.library import Library
from cyclechart.piece.line import Line
from cyclechart.piece.step_state import lines_named, step_nodes
from cyclechart.piece.steps import StepState
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.theory.mode import Mode


class LineModes(NamedTuple):
    """The first mode that the form plays each line in, by the line's name; ``usual`` where it does
    not, and the library that further modes are found in."""

    first: Table[str, Mode]
    usual: Mode
    library: Library

    def of_line(self, name: str) -> Mode:
        """Return the mode that a line is first played in."""
        return self.first.get(name, self.usual)

    def of_source(self, name: str, source: Line, built: Table[str, Line | None]) -> Mode:
        """Return the mode that a source of the line ``name`` is in: the one it was put into, or is
        played in; else that of the line it comes from, of the line itself, of the piece."""
        line: Line | None = source
        while line is not None:
            if line.derivation is not None and line.derivation.mode is not None:
                return line.derivation.mode
            if line.name in self.first:
                return self.first[line.name]
            line = built.get(line.derivation.source) if line.derivation is not None else None
        return self.first.get(name, self.usual)


def line_modes(
    form: Node | None, states: list[StepState], lines: Node | None, usual: Mode, library: Library
) -> LineModes:
    """Return the modes that a form plays lines in, those that others are made of among them."""
    first: dict[str, Mode] = {}
    for step, state in zip(step_nodes(form), states, strict=False):
        left = list(_played(step))
        while left:
            name = left.pop()
            if name not in first:
                first[name] = state.mode
                left += _parts_of(lines, name)
    return LineModes(first, usual, library)


def _played(step: Node) -> list[str]:
    """The lines that a step plays, whether there are such or not."""
    free = step.get("free") if isinstance(step, Mapping) else None
    alone = [free.text.strip()] if isinstance(free, Scalar) else []
    return [*alone, *lines_named(step)]


def _parts_of(lines: Node | None, name: str) -> list[str]:
    """The links of a line that is a chain, the statement of a cadence that is another line."""
    below = lines.get(name) if isinstance(lines, Mapping) else None
    if not isinstance(below, Mapping):
        return []
    chain, cadence = below.get("chain"), below.get("cadence")
    named = list(chain.items) if isinstance(chain, Sequence) else []
    while isinstance(cadence, Mapping):
        line = cadence.get("line")
        named += [line] if line is not None else []
        cadence = cadence.get("cadence")
    return [item.text.strip() for item in named if isinstance(item, Scalar)]
