"""Reading a mapping of a file as a shape: every part that does not fit is a finding.

A part at fault is reported at its key or value and left out, and the rest is kept, so that one
mistake does not hide the next.
"""

from __future__ import annotations

from collections.abc import Mapping as MappingType
from types import MappingProxyType
from typing import Any, TypeVar

from cyclechart.finding import Finding, Suggestion
from cyclechart.text import reading_rules
from cyclechart.text.edits import between
from cyclechart.text.excerpts import clip, quoted
from cyclechart.text.key_words import meant_key, meant_keys, suggestion
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence, comment_after
from cyclechart.text.shapes import Key, Kind, ListOf, MappingOf, OneOf, OneValue, Shape, ShapeOf

S = TypeVar("S", bound=Shape)
_OUT: Any = object()
"""Stands in place of a value that does not fit."""
MOST_SHOWN = 60
"""Characters of a text that an example takes up."""
_Named = Scalar | int
"""The key of a value, or its index in a list."""


def fit(
    shape: type[S], node: Node, stand_ins: MappingType[str, object] = MappingProxyType({})
) -> tuple[S | None, list[Finding]]:
    """Return a node as a shape, and what does not fit.

    Keys that must be there and are not take their value from ``stand_ins`` (after the finding), as
    a text that is written in their place. The shape is None where the node is not a mapping at all,
    or a key that must be there is missing and has no stand-in.
    """
    if not isinstance(node, Mapping):
        kind = "a text" if isinstance(node, Scalar) else "a list"
        what = f"{shape.where} must be a mapping of keys, not {kind}"
        return None, [reading_rules.wrong_value(node.spot, what)]
    fitting = _Fitting()
    fitted = fitting.mapping(shape, node, node, stand_ins)
    return (None if fitted is _OUT else fitted), fitting.findings


class _Fitting:
    """The parts of one node, with what is wrong in them."""

    def __init__(self) -> None:
        self.findings: list[Finding] = []

    def mapping(
        self,
        shape: type[Shape],
        node: Mapping,
        named: Node,
        stand_ins: MappingType[str, object] = MappingProxyType({}),
    ) -> Any:
        """A mapping in its shape, or ``_OUT``.

        ``named`` is where it is named: its key, or its own beginning.
        """
        meant = meant_keys(node, shape.instead, shape.keys)
        values = {
            key.attribute: self.under(key, shape, node, named, is_meant=key.name in meant)
            if key.is_required or key.name in node.pairs
            else key.default
            for key in shape.keys.values()
        }
        for name, (key_node, _) in node.pairs.items():
            if name not in shape.keys:
                self.findings.append(_unknown_key(shape, node, key_node))
        for key in shape.keys.values():
            if values[key.attribute] is _OUT:
                default = _stand_in(key, stand_ins) if key.is_required else key.default
                values[key.attribute] = default
        return _OUT if any(value is _OUT for value in values.values()) else shape(values)

    def under(
        self, key: Key[Any], shape: type[Shape], node: Mapping, named: Node, *, is_meant: bool
    ) -> Any:
        """The value under a key of a mapping, its default, or ``_OUT``.

        ``is_meant``: an unknown key stands for it, which is reported by itself.
        """
        written = node.pairs.get(key.name)
        if written is not None:
            return self.value(key.kind, written[1], written[0])
        if not key.is_required:
            return key.default
        if not is_meant:
            lacking = reading_rules.missing_key(named.spot, key.name, shape.where, key.example)
            self.findings.append(lacking)
        return _OUT

    def value(self, kind: Kind[Any], node: Node, named: _Named) -> Any:
        """A value of its kind, or ``_OUT``."""
        match kind:
            case OneValue():
                return self.one_value(kind, node, named)
            case ListOf():
                return self.list_of(kind.item, node, named)
            case MappingOf():
                return self.mapping_of(kind, node, named)
            case ShapeOf(shape=shape) if shape is not None:
                return self.shape_of(shape, node, named)
            case OneOf():
                fitting = (one for one in kind.kinds if isinstance(node, _written_as(one)))
                return self.value(next(fitting, kind.kinds[0]), node, named)
        return node.plain()

    def one_value(self, kind: OneValue[Any], node: Node, named: _Named) -> Any:
        if isinstance(node, Scalar):
            try:
                return kind.parse(node.text)
            except ValueError as error:
                message = str(error)
                if not node.text and comment_after(node):
                    message = f"YAML takes '{clip(comment_after(node))}' as a comment"
                    return self.wrong(node, named, f"{_name(named, quoted=False)}: {message}")
        else:
            return self.wrong(
                node, named, f"{_name(named)} must be {kind.noun}, not a list or a mapping"
            )
        if isinstance(named, Scalar):
            message = f"{named.text}: {message}"
        return self.wrong(node, named, message)

    def list_of(self, kind: Kind[Any], node: Node, named: _Named) -> Any:
        if not isinstance(node, Sequence):
            message = "must be a list: in [ ] with commas, or one line with - for each"
            return self.wrong(
                node, named, f"{_name(named)} {message}", *_as_list(kind, node, named)
            )
        items = [self.value(kind, item, index) for index, item in enumerate(node.items)]
        # An item left out would move the others, whose places other readers count.
        return _OUT if any(item is _OUT for item in items) else items

    def mapping_of(self, kind: MappingOf[Any], node: Node, named: _Named) -> Any:
        if not isinstance(node, Mapping):
            message = f"{_name(named)} must be a mapping: a name and a colon for each entry"
            return self.wrong(node, named, message, kind.example)
        astray: set[str] = set()
        shape = kind.value.shape if isinstance(kind.value, ShapeOf) else None
        if shape is not None and not shape.keys.keys().isdisjoint(node.pairs):
            from cyclechart.text.nesting import not_beneath  # hardly any file needs it

            astray, wrong = not_beneath(node, shape.keys)
            self.findings += wrong
        below = {
            name: self.value(kind.value, value, key)
            for name, (key, value) in node.pairs.items()
            if name not in astray
        }
        return {name: value for name, value in below.items() if value is not _OUT}

    def shape_of(self, shape: type[Shape], node: Node, named: _Named) -> Any:
        if isinstance(node, Mapping):
            return self.mapping(shape, node, named if isinstance(named, Scalar) else node)
        if shape.bare:
            self.findings.append(_bare(shape, node, named))
        else:
            self.wrong(node, named, f"{_name(named)} must be a mapping of keys")
        if isinstance(named, Scalar) or any(key.is_required for key in shape.keys.values()):
            return _OUT
        # An empty item keeps the others of its list.
        return shape({key.attribute: key.default for key in shape.keys.values()})

    def wrong(self, node: Node, named: _Named, message: str, *tries: str) -> Any:
        """Return ``_OUT``, with a finding."""
        # An item of a list has no key that a block could stand under.
        if not tries and isinstance(named, Scalar):
            tries = tuple(_as_block(named.text, node, message))
        self.findings.append(reading_rules.wrong_value(node.spot, message, tries))
        return _OUT


def _as_list(kind: Kind[Any], node: Node, named: _Named) -> list[str]:
    """A text that stands where a list belongs, as its one item; else an example of the list."""
    shape = kind.shape if isinstance(kind, ShapeOf) else None
    if shape is None or not shape.bare_try[1] or not isinstance(named, Scalar):
        return []
    text = node.text.strip() if isinstance(node, Scalar) else ""
    fits = text and "\n" not in text and len(text) < MOST_SHOWN
    item = shape.bare_try[0].format(text=text) if fits else shape.bare_try[1]
    return [f"{named.text}:\n  {item if item.startswith('-') else f'- {item}'}"]


def _stand_in(key: Key[Any], stand_ins: MappingType[str, object]) -> Any:
    """The value that stands in for a key that must be there, or ``_OUT``."""
    value = stand_ins.get(key.name, _OUT)
    if isinstance(key.kind, OneValue) and isinstance(value, str):
        return key.kind.parse(value)
    return value


def _written_as(kind: Kind[Any]) -> type[Node]:
    """The class of the nodes that a kind takes."""
    match kind:
        case OneValue():
            return Scalar
        case ListOf():
            return Sequence
        case MappingOf() | ShapeOf():
            return Mapping
    return Node


def _name(named: _Named, *, quoted: bool = True) -> str:
    """The name of a value in a sentence."""
    if isinstance(named, int):
        return f"item {named + 1} of this list"
    return f"'{named.text}'" if quoted else named.text


def _unknown_key(shape: type[Shape], node: Mapping, key: Scalar) -> Finding:
    inside = shape.inside.get(key.text)
    if inside is not None:
        return reading_rules.unknown_key(key.spot, key.text, (), shape.where, [inside])
    meant = meant_key(key.text, shape.instead)
    if meant:
        tries = [suggestion(key, meant, node, shape.keys)]
        return reading_rules.unknown_key(key.spot, key.text, (), shape.where, tries)
    cut = _cut_by_comma(node, key.text)
    return reading_rules.unknown_key(key.spot, key.text, keys_of(shape), shape.where, cut)


def _bare(shape: type[Shape], node: Node, named: _Named) -> Finding:
    """A text, a list or nothing where a mapping belongs that can say how it is written."""
    key = named.text if isinstance(named, Scalar) else str(named)
    message = shape.bare.format(key=clip(key))
    text = node.text.strip() if isinstance(node, Scalar) else ""
    if text and "\n" not in text:
        tries = [shape.bare_try[0].format(text=clip(text, 300))]
    else:
        tries = [shape.bare_try[1]]
    return reading_rules.wrong_value(node.spot, message, tries)


def keys_of(shape: type[Shape]) -> list[str]:
    """The keys of a shape as they are written."""
    return list(shape.keys)


def _cut_by_comma(parent: Mapping, key: str) -> list[Suggestion]:
    """``{sargam: N, R G}``: what YAML cut into a value and a key is one text in quotes."""
    source = parent.source
    if source.text[parent.start : parent.start + 1] != "{":
        return []
    before: tuple[Scalar, Node] | None = None
    for name, (written, value) in parent.pairs.items():
        bare = isinstance(value, Scalar) and not value.text and value.style is None
        if name != key:
            before = before if bare and before else (written, value)
            continue
        if not bare or before is None or not isinstance(before[1], Scalar):
            return []
        if source.text[written.end : written.end + 1] == ":" or before[1].style:
            return []
        whole = source.text[before[1].start : written.end]
        if "\n" in whole:
            return []
        edit = between(source, before[1].start, written.end, quoted(whole))
        return [Suggestion(f"quote the text: {before[0].text}: {quoted(whole)}", (edit,))]
    return []


def _as_block(key: str, node: Node, message: str) -> list[str]:
    """A text that YAML took for a list, a mapping or a comment, written so that it stays text."""
    if isinstance(node, Scalar):
        comment = comment_after(node)
        return [f"{key}: |\n  {comment}"] if comment and not node.text else []
    if "must be a text" not in message:
        return []
    written = node.source.text[node.start : node.end].split("\n")[0]
    return [f"{key}: |\n  {written}"] if written[:1] in "[{" else []
