"""The lines of which only the rhythm is heard."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from cyclechart.piece.steps import Step

if TYPE_CHECKING:
    from cyclechart.piece.line import Line


def mere_rhythms(lines: Mapping[str, Line], steps: Sequence[Step]) -> frozenset[str]:
    """Return the names of the lines of which only the rhythm is heard, that of hits or of chords,
    and of those that they come from: their tones are in no mode."""
    tones = {name for step in steps for name in step.uses}
    tones |= {name for step in steps for one in step.under for name in one.lines}
    hits = {step.directions.hits.line for step in steps if step.directions.hits is not None}
    chords = (line for line in lines.values() if line.kind == "chords")
    rhythms = {name for line in chords for name in _of_other_kind(lines, line)}
    if not hits | rhythms:
        return frozenset()
    return _with_origins(lines, hits | rhythms) - _with_origins(lines, tones)


def _of_other_kind(lines: Mapping[str, Line], line: Line) -> set[str]:
    """Return the parts of a line that lend it their rhythm alone."""
    return {name for name in line.parts if name in lines and lines[name].kind != line.kind}


def _with_origins(lines: Mapping[str, Line], names: Iterable[str]) -> frozenset[str]:
    """Return lines by name with those whose music is in theirs."""
    found: set[str] = set()
    left = list(names)
    while left:
        line = lines.get(left.pop())
        if line is not None and line.name not in found:
            found.add(line.name)
            left += set(line.parts) - _of_other_kind(lines, line)
            left += [line.derivation.source] if line.derivation else []
    return frozenset(found)
