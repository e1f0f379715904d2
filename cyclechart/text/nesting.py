"""Entries of a mapping that are keys of the entry above them, but not indented beneath it."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from cyclechart.finding import Edit, Finding, Spot, Suggestion
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping, Scalar

MOST_SHOWN = 12
"""The rows that a finding shows."""


def not_beneath(node: Mapping, keys: Collection[str]) -> tuple[set[str], list[Finding]]:
    """Return the names of entries that belong beneath the one before them, which has nothing, and
    that one; with a finding for each of these.

    ``keys``: those that an entry of the mapping may have.
    """
    astray: set[str] = set()
    findings: list[Finding] = []
    owner: Scalar | None = None
    below: list[str] = []
    for name, (key, value) in node.pairs.items():
        if owner is not None and name in keys:
            below.append(name)
            continue
        if owner is not None and below:
            astray |= {owner.text, *below}
            findings.append(_fault(node, owner, below))
        empty = isinstance(value, Scalar) and not value.text and value.style is None
        owner, below = (key if empty else None), []
    if owner is not None and below:
        astray |= {owner.text, *below}
        findings.append(_fault(node, owner, below))
    return astray, findings


def _fault(node: Mapping, owner: Scalar, keys: Sequence[str]) -> Finding:
    first, source = node.key(keys[0]), node.source
    start = first.spot.line
    end = source.spot(max(first.start, node.pairs[keys[-1]][1].end - 1)).line
    message = f"'{clip(keys[0])}' is not indented beneath '{clip(owner.text)}': it is no part of it"
    rows = [number for number in range(start, end + 1) if source.line(number).strip()]
    column = owner.spot.column - 1
    written = [source.line(number)[column:].rstrip() for number in rows[:MOST_SHOWN]]
    shown = "\n  ".join([f"{clip(owner.text)}:", *written, *["…"] * (len(rows) > MOST_SHOWN)])
    edits = tuple(Edit(Spot(source.file, number, 1, 0), "  ") for number in rows)
    return reading_rules.wrong_value(first.spot, message, [Suggestion(shown, edits)])
