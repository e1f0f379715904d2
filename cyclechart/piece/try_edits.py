"""Edits for what the reader suggests: things to try that are written as they would be in the file.

``tempo: 92`` at a value or a key of that name is the new value, ``tempo:`` at a key its new name, a
name at a name stands in its place, and ``leave 'tempo' out`` takes the key away. What is worded
otherwise is for a person.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import NamedTuple

from cyclechart.finding import Finding, Suggestion
from cyclechart.piece.shape import PieceShape
from cyclechart.text.edits import Edits
from cyclechart.text.node_edits import (
    commented_out,
    has_alias,
    inserted,
    is_in_braces,
    is_plain,
    pair_removed,
    removed,
    renamed,
    scalar_text,
    with_key,
    with_value,
)
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence
from cyclechart.text.passage_edits import FileNodes, edits_of

_PAIR = re.compile(r"(?P<key>[\w-]+):(?: (?P<value>\S.*))?", re.DOTALL)
_NEXT_PAIR = re.compile(r", (?=[\w-]+: )")
_ONLY_A_COMMENT = re.compile(r"\|\n\s*#\s[^\n]*")
"""A block that would have no more than a comment of the music."""
_LEAVE_OUT = re.compile(r"leave '?([\w-]+)'? out")
_KEEP = re.compile(r"keep (?:one of the two|[\w-]+)")
_NAMES = ("unknown-name", "unknown-line")
_PROSE = re.compile(r"one of: |write |leave |put |keep ")


class _Role(NamedTuple):
    """A node of the file as what it stands there: under a key, as a key, or in a list."""

    node: Node
    parent: Mapping | None
    key: str
    is_key: bool
    double: Node | None = None
    """The value of a key that is written again."""


def with_try_edits(findings: Iterable[Finding], nodes: FileNodes) -> list[Finding]:
    """Return findings on a file whose suggestions carry edits, where they can be done."""
    found = list(findings)
    if not any(one.suggestions for one in found):
        return found
    roles: dict[int, list[_Role]] = {}
    for role in _roles(nodes.root):
        roles.setdefault(role.node.start, []).append(role)
    return [_edited(one, nodes, roles) for one in found]


def _edited(finding: Finding, nodes: FileNodes, roles: dict[int, list[_Role]]) -> Finding:
    offset = nodes.offset(finding.spot)
    if offset is None or all(one.edits for one in finding.suggestions):
        return finding
    here = roles.get(offset, [])
    suggestions = tuple(
        one if one.edits else Suggestion(one.text, _edits(finding, one.text, nodes, here))
        for one in finding.suggestions
    )
    return replace(finding, suggestions=suggestions)


def _roles(root: Node) -> Iterator[_Role]:
    """Yield every node of a file as what it stands there, those further out first."""
    left = [_Role(root, None, "", is_key=False)]
    while left:
        role = left.pop()
        yield role
        if isinstance(role.node, Mapping):
            for key, (named, value) in reversed(role.node.pairs.items()):
                if value.start >= named.end:  # or it is an alias, and stands elsewhere
                    left.append(_Role(value, role.node, key, is_key=False))
                left.append(_Role(named, role.node, key, is_key=True))
            left += [
                _Role(named, role.node, named.text, is_key=True, double=value)
                for named, value in role.node.doubles
            ]
        elif isinstance(role.node, Sequence):
            left += [
                _Role(item, None, "", is_key=False)
                for item in reversed(role.node.items)
                if role.node.start <= item.start < role.node.end
            ]


def _edits(finding: Finding, text: str, nodes: FileNodes, here: list[_Role]) -> Edits:
    """Return the edits of a thing to try at the roles that stand at the place of a finding."""
    if finding.rule == "duplicate-key":
        return next((_without_double(role, role.double) for role in here if role.double), ())
    if finding.rule == "missing-key":
        return _with_missing(text, here)
    out = _LEAVE_OUT.fullmatch(text)
    if out is not None:
        return _without(out[1], here)
    if _KEEP.fullmatch(text):
        return _without("", here, is_music=True)
    if finding.rule in _NAMES and not _PROSE.match(text) and ": " not in text:
        return _with_name(finding, text, nodes, here)
    pair = _PAIR.fullmatch(text.removeprefix("- "))
    if pair is None:
        return ()
    if text.startswith("- "):
        return _in_braces([pair], [role for role in here if role.parent is None])
    if pair["value"] is None:
        return _with_other_key(pair["key"], here)
    if finding.rule == "unknown-key":
        return ()  # it says where else something goes
    return _with_pairs(text, here)


def _with_missing(text: str, here: list[_Role]) -> Edits:
    """Return the edits that put a key into the mapping that stands here, or that is named here."""
    for role in here:
        node = role.node
        if role.is_key and role.parent is not None:
            node = role.parent.pairs[role.key][1]
            if isinstance(node, Scalar) and not node.text and "\n" not in text:
                return with_value(node, f"{{{text}}}", ready=True)
        if isinstance(node, Mapping):
            keys = list(PieceShape.keys)
            key = text.split(":")[0]
            if key in node.pairs:
                return ()  # it is there, with a value that does not fit
            before = keys[: keys.index(key)] if role.parent is None and key in keys else ()
            return inserted(node, text, before)
    return ()


def _without_double(role: _Role, value: Node) -> Edits:
    """Return the edits that take out a key that is written again; where it says something else, its
    rows become comments, for nobody knows which of the two is meant."""
    parent, key = role.parent, role.node
    if parent is None or not isinstance(key, Scalar):
        return ()
    if not is_in_braces(parent) and parent.pairs[role.key][1].plain() != value.plain():
        return commented_out(key, value)
    return pair_removed(parent, key, value)


def _without(key: str, here: list[_Role], *, is_music: bool = False) -> Edits:
    """Return the edits that take a key out that stands here, or beside what stands here; music
    becomes a comment, if that can be."""
    for role in here:
        if role.parent is not None and (not key or role.key == key):
            pair = role.parent.pairs[role.key]
            kept = () if not is_music or is_in_braces(role.parent) else commented_out(*pair)
            return kept or removed(role.parent, role.key)
    for role in here:
        if role.parent is not None and key in role.parent.pairs:
            return removed(role.parent, key)
    return ()


def _with_name(finding: Finding, name: str, nodes: FileNodes, here: list[_Role]) -> Edits:
    """Return the edits that write a name for the one that stands here, or for a part of a text."""
    for role in here:
        node = role.node
        if isinstance(node, Scalar) and finding.spot.width >= node.spot.width:
            if role.is_key and role.parent is not None:
                return _other_key(role, name)
            return with_value(node, name)
    offset = nodes.offset(finding.spot)
    if offset is None:
        return ()
    old = nodes.root.source.text[offset : offset + finding.spot.width]
    return nodes.rewritten(finding.spot, old, name)


def _with_other_key(name: str, here: list[_Role]) -> Edits:
    for role in here:
        if role.is_key and role.parent is not None:
            return _other_key(role, name)
    return ()


def _other_key(role: _Role, name: str) -> Edits:
    """Return the edits that name a key otherwise; () where the mapping has that key."""
    if role.parent is None or name in role.parent.pairs or not isinstance(role.node, Scalar):
        return ()
    return renamed(role.node, name)


def _with_pairs(text: str, here: list[_Role]) -> Edits:
    """Return the edits that give keys their values: the first stands here, the others beside it."""
    pairs = [_PAIR.fullmatch(one) for one in _split(text)]
    first = pairs[0]
    if first is None or _ONLY_A_COMMENT.fullmatch(first["value"]):
        return ()
    keys = {one["key"] for one in pairs if one is not None}
    for role in sorted(here, key=lambda role: role.key != first["key"]):
        parent = role.parent
        if parent is None or (role.key not in keys and first["key"] not in parent.pairs):
            continue
        if has_alias(parent, role.key):
            return ()
        each = [
            with_key(parent, one["key"], _block(parent, one["key"], one["value"]), ready=True)
            for one in pairs
            if one is not None and one["value"]
        ]
        return edits_of(*each) if len(each) == len(pairs) else ()
    return _in_braces(pairs, here)


def _in_braces(pairs: list[re.Match[str] | None], here: list[_Role]) -> Edits:
    """Return the edits that write a text that stands under a key, or in a list, as a mapping."""
    scalars = [role for role in here if not role.is_key and isinstance(role.node, Scalar)]
    only = pairs[0]
    if len(pairs) > 1 or only is None or not scalars or not only["value"]:
        return ()
    node = scalars[-1].node
    assert isinstance(node, Scalar)
    value, said = only["value"], node.text.strip()
    if "\n" in value or "\n" in said or value.startswith(("{", "[")):
        return ()
    if value == said:
        return with_value(node, f"{{{only['key']}: {scalar_text(said)}}}", ready=True)
    return with_value(node, f"{{{only['key']}: {value}}}", ready=True) if is_plain(value) else ()


def _split(text: str) -> list[str]:
    """Return the pairs of a text: ``yati: gopuccha, by: 2``; one with brackets or quotes is one."""
    return [text] if re.search(r"[\[{\"'\n]", text) else _NEXT_PAIR.split(text)


def _block(parent: Mapping, key: str, value: str) -> str:
    """Return a value with its further rows indented from the column of its key; in braces a block
    of text as a quoted text."""
    if "\n" not in value:
        return value
    if is_in_braces(parent) and value.startswith("|\n"):
        return '"' + value[2:].strip().replace("\\", "\\\\").replace('"', '\\"') + '"'
    named = parent.key(key) if key in parent.pairs else next(iter(parent.pairs.values()))[0]
    column = named.start - named.source.text.rfind("\n", 0, named.start) - 1
    return value.replace("\n", "\n" + " " * column)
