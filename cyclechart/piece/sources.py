"""The lines that others come from, as the file has them, before the lines are read."""

from __future__ import annotations

from cyclechart.text.nodes import Mapping, Node, Scalar
from cyclechart.theory.cycle import Cycle


def with_sources(played: dict[str, list[Cycle]], lines: Node | None) -> dict[str, list[Cycle]]:
    """Return the cycles that lines are played in; a line that is only the source of others stands
    in those of these."""
    found = {name: list(cycles) for name, cycles in played.items()}
    for name, cycles in played.items():
        seen = {name}
        source = _source_of(lines, name)
        while source is not None and source not in played and source not in seen:
            here = found.setdefault(source, [])
            here += [cycle for cycle in cycles if cycle not in here]
            seen.add(source)
            source = _source_of(lines, source)
    return found


def _source_of(lines: Node | None, name: str) -> str | None:
    """The line that a line comes from, whether there is such or not."""
    below = lines.get(name) if isinstance(lines, Mapping) else None
    named = below.get("from") if isinstance(below, Mapping) else None
    return named.text.strip() if isinstance(named, Scalar) else None
