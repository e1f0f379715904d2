"""What the form changes as it goes on: the cycle in force at each step, and who is played in it.

A change holds from its step on, until there is another.
"""

from __future__ import annotations

from dataclasses import replace

from cyclechart.catalog.library import Library
from cyclechart.finding import Finding
from cyclechart.piece.heading import cycle_of
from cyclechart.piece.model import ANY_CYCLE
from cyclechart.piece.shape import LineShape
from cyclechart.text import faults
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact

MAX_STEPS = 500
MAX_CYCLES = 32
"""Different ones that a form names."""


def cycles_through(
    node: Node | None, cycle: Cycle | None, library: Library
) -> tuple[list[Cycle], list[Finding]]:
    """The cycle in force at each step of the form: the piece's own until one changes it.

    ``ANY_CYCLE`` from where one cannot be read.
    """
    findings: list[Finding] = []
    own = now = cycle or ANY_CYCLE
    known: dict[str, Cycle] = {}
    named: dict[Cycle, None] = {}
    force: list[Cycle] = []
    steps = steps_of(node)
    for item in steps:
        below = item.get("cycle") if isinstance(item, Mapping) else None
        if below is not None:
            name = below.text.strip() if isinstance(below, Scalar) else ""
            now = known.get(name) or cycle_of(below, library, findings) or ANY_CYCLE
            if name and now is not ANY_CYCLE:
                known[name] = now
            if isinstance(below, Mapping) and "name" not in below.pairs and now != own:
                now = replace(now, name=f"a cycle of {show_exact(now.beats)}")
            named[now] = None
            if len(named) > MAX_CYCLES:
                what = f"a form has at most {MAX_CYCLES} different cycles"
                findings.append(faults.too_long(below.spot, what))
                force += [ANY_CYCLE] * (len(steps) - len(force))
                break
        force.append(now)
    return force, findings


def cycles_played(node: Node | None, force: list[Cycle]) -> dict[str, list[Cycle]]:
    """The cycles that the steps play each line in, by the line's name, as the form has it.

    For what has to be known before the lines are read.
    """
    played: dict[str, list[Cycle]] = {}
    for item, cycle in zip(steps_of(node), force, strict=False):
        for key in ("play", "over"):
            named = item.get(key) if isinstance(item, Mapping) else None
            if isinstance(named, Scalar) and cycle is not ANY_CYCLE:
                cycles = played.setdefault(named.text.strip(), [])
                cycles += () if cycle in cycles else (cycle,)
    return played


def steps_of(node: Node | None) -> tuple[Node, ...]:
    """The steps of a form as they stand in the file."""
    return tuple(node.items[:MAX_STEPS]) if isinstance(node, Sequence) else ()


def begins_within(
    shapes: dict[str, LineShape], node: Node | None, played: dict[str, list[Cycle]]
) -> list[Finding]:
    """Beginnings that lie beyond the end of a cycle that the line is played in.

    The first of a line's cycles is looked at where the line is read.
    """
    findings = []
    for name, (_, below) in node.pairs.items() if isinstance(node, Mapping) else ():
        begins = shapes[name].begins if name in shapes else None
        value = below.get("begins") if isinstance(below, Mapping) else None
        if begins is None or value is None:
            continue
        for cycle in played.get(name, [])[1:]:
            if begins >= cycle.beats + 1:
                what = (
                    f"'{faults.clip(name)}' is played in {cycle.name} too, where a line begins on "
                    f"a beat from 1 to {show_exact(cycle.beats)}, not on {show_exact(begins)}"
                )
                tries = [f"a line of its own for {cycle.name}"]
                findings.append(faults.wrong_value(value.spot, what, tries))
    return findings
