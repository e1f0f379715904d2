"""The edit that takes the departure of a finding on purpose: an entry under ``liberties``."""

from __future__ import annotations

from cyclechart.draft.piece_text import scalar
from cyclechart.finding import Edit, Finding, Spot
from cyclechart.rules.judge import RULE_NAMES
from cyclechart.text.node_edits import content_end
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.text.source import Source

_NEVER = ("unused-liberty", "unused-line")


def liberty_edit(source: Source, root: Mapping, finding: Finding) -> Edit | None:
    """Return the edit that adds a liberty for a finding, its reason left empty for the user to
    fill in; None where the finding is none that a liberty covers, or they are in brackets."""
    if finding.rule not in RULE_NAMES or finding.rule in _NEVER or finding.liberty is not None:
        return None
    rows = [f"rule: {finding.rule}"]
    if finding.place is not None:
        rows.append(f"line: {scalar(finding.place.within)}")
    if finding.tone is not None:
        rows.append(f"tone: {finding.tone}")
    rows.append("why: ")
    listed = root.get("liberties")
    if isinstance(listed, Sequence) and listed.items:
        first = source.line(listed.items[0].spot.line)
        if not first.lstrip().startswith("-"):
            return None
        indent = len(first) - len(first.lstrip())
        return _after(source, listed, _item(rows, indent))
    if listed is not None and not (isinstance(listed, Scalar) and not listed.text.strip()):
        return None
    if "liberties" in root.pairs:
        return _after(source, root.key("liberties"), _item(rows, 2))
    return _at_end(source, "liberties:\n" + _item(rows, 2))


def _item(rows: list[str], indent: int) -> str:
    """Return an item of a list, a row for each key."""
    lead = " " * indent
    return "".join(f"{lead}{'  ' if number else '- '}{row}\n" for number, row in enumerate(rows))


def _after(source: Source, node: Node, text: str) -> Edit:
    """Return the edit that puts rows in below the last row of a node."""
    return _below(source, node.source.spot(content_end(node)).line, text)


def _at_end(source: Source, text: str) -> Edit:
    row = source.text.rstrip().count("\n") + 1
    return _below(source, row, f"\n{text}")


def _below(source: Source, row: int, text: str) -> Edit:
    """Return the edit that puts rows in below a row."""
    if row < len(source.starts):
        return Edit(Spot(source.file, row + 1, 1, 0), text)
    return Edit(Spot(source.file, row, len(source.line(row)) + 1, 0), f"\n{text}")
