"""What can be wrong with the links of a chain."""

from __future__ import annotations

from collections.abc import Sequence as Several
from fractions import Fraction

from cyclechart.finding import Finding
from cyclechart.piece.line import Line
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Scalar, Sequence
from cyclechart.theory.cycle import Cycle
from cyclechart.theory.exact import show_exact

MAX_LINKS = 200


def wrong_number(listed: Sequence, names: Several[Scalar]) -> Finding | None:
    """Return the finding on a chain of no lines, or of too many."""
    if 1 <= len(names) <= MAX_LINKS:
        return None
    message = f"a chain must have 1 to {MAX_LINKS} lines, not {len(names)}"
    return reading_rules.wrong_value(listed.spot, message)


def other_kind(names: Several[Scalar], links: Several[Line]) -> Finding | None:
    """Return the finding on the first link that no player of the others can play."""
    for name, link in zip(names, links, strict=True):
        if link.kind != links[0].kind:
            message = (
                f"'{clip(name.text)}' is a line of {link.kind}, but the chain begins with one of "
                f"{links[0].kind}"
            )
            return reading_rules.wrong_value(name.spot, message)
    return None


def astray(
    name: Scalar, says: Fraction | None, begins: Fraction, cycle: Cycle | None
) -> Finding | None:
    """Return the finding on a link that says it begins on another beat than it comes on."""
    if says is None or cycle is None or (begins - says) % cycle.beats == 0:
        return None
    wanted, beat = name.text.strip(), show_exact((begins - 1) % cycle.beats + 1)
    what = f"'{wanted}' begins on beat {show_exact(says)}, but the chain reaches it on beat {beat}"
    hint = f"leave 'begins' out of '{wanted}', or make the chain reach it on that beat"
    return reading_rules.wrong_value(name.spot, what, [hint])
