"""Where the content of a node ends, without the comments and empty rows after it."""

from __future__ import annotations

from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence


def content_end(node: Node) -> int:
    """Return the offset right after the last thing that is written of a node."""
    text = node.source.text
    if isinstance(node, Mapping | Sequence) and text[node.start : node.start + 1] in ("{", "["):
        return node.end
    if isinstance(node, Mapping) and node.pairs:
        key, value = list(node.pairs.values())[-1]
        return max(key.end, content_end(value))
    if isinstance(node, Sequence) and node.items:
        return max(node.start + 1, content_end(node.items[-1]))
    if isinstance(node, Scalar) and node.style in ("|", ">"):
        passage = node.passage()
        return passage.base + len(passage.text.rstrip())
    return node.end
