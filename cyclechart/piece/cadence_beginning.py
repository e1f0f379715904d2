"""The keys beside a cadence: where it lands, and the beat that it begins on, which may also stand
in it."""

from __future__ import annotations

from dataclasses import replace

from cyclechart.finding import Finding, Findings
from cyclechart.piece.cadences import Recipe
from cyclechart.piece.line import Lands
from cyclechart.piece.line_text import begins_of, lands_of
from cyclechart.piece.shape import LineShape
from cyclechart.text import reading_rules
from cyclechart.text.nodes import Mapping
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact


def cadence_lands(shape: LineShape, node: Mapping) -> tuple[Lands | None, list[Finding]]:
    """Return by how much a cadence lands before or after a first beat; None: on it."""
    lands, findings = lands_of(shape, node)
    if lands is not None and lands.how == "free":
        what = "a cadence lands in the cycle: it cannot be free of it"
        spot = node.pairs["lands"][1].spot
        return None, [*findings, reading_rules.wrong_value(spot, what, ["leave 'lands' out"])]
    return lands, findings


def with_beginning(
    recipe: Recipe, shape: LineShape, node: Mapping, cycle: Cycle | None
) -> tuple[Recipe, list[Finding]]:
    """Return the recipe with its beginning, which may also stand beside the cadence."""
    findings = Findings()
    begins = recipe.question.begins
    where = node.get("cadence")
    spot = recipe.spot
    if begins is not None and isinstance(where, Mapping):
        spot = where.pairs["begins"][1].spot
    beside = node.get("begins")
    if shape.begins is not None and beside is not None:
        if begins is not None and begins != shape.begins:
            what = (
                f"the line begins on beat {show_exact(shape.begins)} and its cadence on beat "
                f"{show_exact(begins)}"
            )
            findings.append(reading_rules.wrong_value(beside.spot, what, ["keep one of the two"]))
        else:
            begins = findings.take(begins_of(shape, node, cycle.beats if cycle else None))
    elif begins is not None and cycle is not None and begins >= cycle.beats + 1:
        what = (
            f"a cadence must begin on a beat of the cycle, 1 to {show_exact(cycle.beats)}, "
            f"not on {show_exact(begins)}"
        )
        begins = (begins - 1) % cycle.beats + 1
        findings.append(reading_rules.wrong_value(spot, what, [f"begins: {show_exact(begins)}"]))
    return replace(recipe, question=replace(recipe.question, begins=begins)), findings
