"""Entries of a mapping that are keys of the entry above them, but not indented beneath it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace

from cyclechart.finding import Edit, Finding, Spot, Suggestion
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping, Node, Scalar

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
        owner, below = (key if _is_empty(value) else None), []
    if owner is not None and below:
        astray |= {owner.text, *below}
        findings.append(_fault(node, owner, below))
    return astray, findings


def with_names_beneath(
    node: Mapping, owners: Collection[str], is_name: Callable[[str, Node], bool]
) -> tuple[Mapping, list[Finding]]:
    """Return a mapping in which the names behind an empty one of its ``owners`` stand beneath it,
    as they are meant, with a finding for each of these owners.

    ``is_name`` says of a key and its value whether it can be such a name.
    """
    pairs: dict[str, tuple[Scalar, Node]] = {}
    beneath: dict[str, list[str]] = {}
    owner = ""
    for name, (key, value) in node.pairs.items():
        if owner and is_name(name, value):
            beneath.setdefault(owner, []).append(name)
            continue
        pairs[name] = (key, value)
        owner = name if name in owners and _is_empty(value) else ""
    findings = []
    for owner, names in beneath.items():
        start, end = node.key(names[0]).start, node.pairs[names[-1]][1].end
        below = Mapping(node.source, start, end, {name: node.pairs[name] for name in names})
        findings.append(_fault(node, node.key(owner), names))
        pairs[owner] = (node.key(owner), below)
    return (replace(node, pairs=pairs) if beneath else node), findings


def _is_empty(value: Node) -> bool:
    return isinstance(value, Scalar) and not value.text and value.style is None


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
