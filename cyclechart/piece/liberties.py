"""The liberties of a piece: what they name must be there."""

from __future__ import annotations

from collections.abc import Iterable

from cyclechart.finding import Finding
from cyclechart.piece.model import Liberty
from cyclechart.piece.shape import LibertyShape
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping, Node, Sequence
from cyclechart.theory.tones import SARGAM, SEMITONE


def liberties_from(
    shapes: list[LibertyShape],
    node: Node | None,
    lines: Iterable[str],
    rules: Iterable[str],
) -> tuple[tuple[Liberty, ...], list[Finding]]:
    """The liberties; each names a rule that there is, a line of the piece, a tone of the twelve."""
    findings: list[Finding] = []
    taken: list[Liberty] = []
    names, known = list(lines), list(rules)
    items = node.items if isinstance(node, Sequence) else ()
    for shape, item in zip(shapes, items, strict=False):
        if not isinstance(item, Mapping):
            continue
        before = len(findings)
        for key in ("rule", "why"):
            if key not in item.pairs:
                example = LibertyShape.keys[key].example
                findings.append(reading_rules.missing_key(item.spot, key, "a liberty", example))
        if shape.rule is not None and shape.rule not in known:
            spot = item.pairs["rule"][1].spot
            findings.append(reading_rules.unknown_name(spot, "rule", shape.rule, known))
        if shape.line is not None and shape.line not in names:
            findings.append(
                reading_rules.unknown_line(item.pairs["line"][1].spot, shape.line, names)
            )
        if shape.tone is not None and shape.tone not in SEMITONE:
            what = f"'{clip(shape.tone)}' is not one of the twelve tones"
            findings.append(
                reading_rules.wrong_value(item.pairs["tone"][1].spot, what, [" ".join(SARGAM)])
            )
        if len(findings) == before and shape.rule is not None and shape.why is not None:
            taken.append(Liberty(shape.rule, shape.why, shape.line, shape.tone, item.spot))
    return tuple(taken), findings
