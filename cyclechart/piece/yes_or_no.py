"""The words that people write for yes and no."""

from __future__ import annotations

from cyclechart.finding import Finding
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Node


def yes_or_no(text: str) -> bool | None:
    """The words people write for yes and no, or None."""
    folded = text.strip().lower()
    if folded in ("true", "yes", "on", "1"):
        return True
    return False if folded in ("false", "no", "off", "0") else None


def said_yes(text: str, key: str, node: Node) -> tuple[bool, list[Finding]]:
    """Return whether the text of a key says yes; with a finding where it says neither."""
    answer = yes_or_no(text)
    if answer is not None:
        return answer, []
    what = f"{key} must be true or false, not '{clip(text)}'"
    return False, [reading_rules.wrong_value(node.spot, what)]
