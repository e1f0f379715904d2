"""Keys that others would write for ours: what to write in their place."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from cyclechart.finding import Edit, Suggestion
from cyclechart.text.nodes import Mapping as MappingNode
from cyclechart.text.nodes import Scalar

MOST_LETTERS = 40


def meant_key(written: str, words: Mapping[str, str]) -> str:
    """Return what stands for a key in a table of words: a key of ours, or a sentence; "" for none.

    Case, hyphens, underscores and a final s make no difference.
    """
    plain = "-".join(written[:MOST_LETTERS].lower().replace("_", " ").replace("-", " ").split())
    return words.get(plain) or words.get(plain.removesuffix("s")) or ""


def suggestion(key: Scalar, meant: str, node: MappingNode, known: Collection[str]) -> Suggestion:
    """Return what to try in place of a key, with the edit where it is a key of ours that is not
    there yet."""
    if meant not in known:
        return Suggestion(meant)
    if meant in node.pairs:
        return Suggestion(f"take it out: '{meant}' is given on line {node.key(meant).spot.line}")
    return Suggestion(f"{meant}:", (Edit(key.spot, meant),))


def meant_keys(node: MappingNode, words: Mapping[str, str], known: Collection[str]) -> set[str]:
    """Return the keys of ours that unknown keys of a mapping stand for."""
    return {meant_key(name, words) for name in node.pairs if name not in known} - {""}
