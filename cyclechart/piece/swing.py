"""``swing``: how long the first half of a halved beat lasts to the second."""

from __future__ import annotations

from fractions import Fraction

from cyclechart.finding import Finding
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Node, Scalar
from cyclechart.theory.exact import parse_exact

STRAIGHT = Fraction(1)
MOST = Fraction(4)
LARGEST_TERM = 12
"""No ratio has a larger number: finer ones are not heard, and must fit into ticks."""
_TRIES = ("swing: 2/1", "swing: 3/2", "swing: 1/1")


def swing_from(node: Node) -> tuple[Fraction, list[Finding]]:
    """Return the ratio of long to short, from 1/1 (straight) to 4/1."""
    if not isinstance(node, Scalar):
        what = "swing must be the ratio of a long half beat to a short one"
        return STRAIGHT, [reading_rules.wrong_value(node.spot, what, list(_TRIES))]
    text = node.text.strip().replace(":", "/")
    try:
        ratio = parse_exact(text)
    except ValueError:
        what = f"swing must be the ratio of a long half beat to a short one, not '{clip(text)}'"
        return STRAIGHT, [reading_rules.wrong_value(node.spot, what, list(_TRIES))]
    if STRAIGHT <= ratio <= MOST and ratio.numerator <= LARGEST_TERM:
        return ratio, []
    what = (
        f"swing must be a ratio from 1/1 to {MOST}/1, in numbers up to {LARGEST_TERM}, "
        f"not {clip(text)}"
    )
    return STRAIGHT, [reading_rules.wrong_value(node.spot, what, list(_TRIES))]
