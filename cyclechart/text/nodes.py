"""YAML as a tree of raw texts that know where they stand.

Every scalar stays the text that was written (YAML 1.1 would make ``no`` a truth value, ``1:30``
a number of seconds and ``010`` eight). Only the composer of the YAML library is used: no tag is
ever built into an object.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import yaml

from cyclechart.finding import Edit, Finding, Findings, Spot, Suggestion
from cyclechart.text import escapes, reading_rules
from cyclechart.text import yaml_repair as mending
from cyclechart.text.edits import between
from cyclechart.text.excerpts import clip
from cyclechart.text.source import PlacedText, Source

MAX_NODES = 100_000
MAX_DEPTH = 24
MAX_MENDS = 20

_PROPERTIES = re.compile(r"(?:[&!]\S*\s*)*")
_INDICATOR = re.compile(r"[|>][+-]?([1-9])")
_DASHES = re.compile(r"[ ]*(?:-[ ]+)*")
_TAG = re.compile(r"(?:&\S+\s+)?(!\S*)")


@dataclass(frozen=True)
class Node:
    """A node of the file: a Mapping, a Sequence or a Scalar; ``start`` and ``end`` are offsets."""

    source: Source
    start: int
    end: int

    @property
    def spot(self) -> Spot:
        """Its place: from its beginning, as wide as it is within its first line."""
        first = self.source.text[self.start : self.end].split("\n", 1)[0]
        return self.source.spot(self.start, len(first.rstrip()))

    def plain(self) -> object:
        """Its content as dicts, lists and strings."""
        raise NotImplementedError


@dataclass(frozen=True)
class Scalar(Node):
    """Text as written. ``style`` is None (plain), a quote, ``|`` or ``>``."""

    text: str
    style: str | None

    def plain(self) -> str:
        return self.text

    def passage(self) -> PlacedText:
        """The content as written, each character with its place, for a line of music.

        Block styles are taken line by line as they stand (folding changes only white space), a
        single-quoted text with its doubled quotes undone, a double-quoted one with its escapes
        undone, each at its backslash (over several rows every place is the opening quote).
        """
        text = self.source.text[self.start : self.end]
        if self.style in ("|", ">"):
            return self._block(text)
        if self.style == "'":
            kept: list[int] = []
            at = 1
            while at < len(text) - 1:
                kept.append(at)
                at += 2 if text.startswith("''", at) else 1
            letters = "".join(text[at] for at in kept)
            places = tuple(self.start + at for at in (*kept, len(text) - 1))
            return PlacedText(self.source, letters, 0, places, "'", self.end - 1)
        if self.style == '"':
            found = escapes.places(text, self.text)
            if found is None and "\\" in text:
                places = (self.start,) * len(self.text)
                return PlacedText(self.source, self.text, 0, places, '"', self.end)
            if found is None:
                return PlacedText(self.source, text[1:-1], self.start + 1, style='"')
            places = tuple(self.start + at for at in found)
            return PlacedText(self.source, self.text, 0, places, '"', self.end - 1)
        return PlacedText(self.source, text, self.start, style=None)

    def _block(self, text: str) -> PlacedText:
        head = text.find("\n") + 1
        if not head:
            return PlacedText(self.source, "", self.end)
        kept: list[str] = []
        indent = self.said_indent(text[:head])
        for line in text[head:].split("\n"):
            if line.strip():
                lead = len(line) - len(line.lstrip(" "))
                if indent is None:
                    indent = lead
                elif lead < indent:
                    break
            kept.append(line)
        return PlacedText(self.source, "\n".join(kept), self.start + head)

    def said_indent(self, header: str) -> int | None:
        """The column that an indentation indicator (``|2``) puts the rows at; None without one."""
        digit = _INDICATOR.match(header)
        if digit is None:
            return None
        row = self.source.text.rfind("\n", 0, self.start) + 1
        dashes = _DASHES.match(self.source.text, row, self.start)
        lead = dashes[0] if dashes else ""
        if lead.strip() and not self.source.text[row + len(lead) : self.start].strip():
            return lead.rindex("-") + int(digit[1])
        return len(lead) + int(digit[1])


@dataclass(frozen=True)
class Sequence(Node):
    """A list of nodes."""

    items: tuple[Node, ...]

    def plain(self) -> list[object]:
        return [item.plain() for item in self.items]


@dataclass(frozen=True)
class Mapping(Node):
    """Keys in the order written, each with the node of the key and of its value."""

    pairs: dict[str, tuple[Scalar, Node]]
    doubles: tuple[tuple[Scalar, Node], ...] = ()
    """The keys that are written again, with their values, which are not read."""

    def plain(self) -> dict[str, object]:
        return {key: value.plain() for key, (_, value) in self.pairs.items()}

    def get(self, key: str) -> Node | None:
        """The value of a key, or None."""
        pair = self.pairs.get(key)
        return pair[1] if pair else None

    def key(self, key: str) -> Scalar:
        """The node of the key itself."""
        return self.pairs[key][0]


def find(root: Node, path: tuple[str | int, ...]) -> tuple[Node, bool]:
    """The node at a path, or the nearest one above it; and whether the whole path was there."""
    node = root
    for part in path:
        below: Node | None = None
        if isinstance(node, Mapping) and isinstance(part, str):
            below = node.get(part)
        elif isinstance(node, Sequence) and isinstance(part, int) and part < len(node.items):
            below = node.items[part]
        if below is None:
            return node, False
        node = below
    return node, True


def read(source: Source) -> tuple[Node | None, list[Finding]]:
    """Compose a file into nodes; line texts that YAML cannot take are mended in memory.

    Returns the root (None where nothing can be made of it) and the findings. The nodes' own source
    is the mended one, whose places are those of the file.
    """
    findings = Findings()
    for _ in range(MAX_MENDS):
        try:
            return findings.take(_compose(source)), findings
        except yaml.MarkedYAMLError as error:
            mark = _mark(error)
            at = mark.line if mark else 0
            mended = mending.mend(source.text, at, error.context_mark)
            if mended is None:
                findings.append(_yaml_fault(source, error))
                return None, findings
            spot = source.spot(source.starts[mended.row] + mended.column, mended.width)
            findings.append(
                reading_rules.unreadable(
                    spot,
                    f"YAML does not read a value that {mended.why} as text",
                    [Suggestion(mended.shown, (_repair(source, mended),))],
                )
            )
            source = Source.of(source.file, mended.text, mended.added_to(source.quoted))
        except yaml.YAMLError as error:
            findings.append(
                reading_rules.unreadable(source.spot(0), f"YAML cannot read this file: {error}", [])
            )
            return None, findings
        except RecursionError:
            findings.append(reading_rules.too_long(source.spot(0), "the file is nested too deeply"))
            return None, findings
    return None, findings


def _repair(source: Source, mended: mending.Repaired) -> Edit:
    """Return the edit that writes a value so in the file that YAML reads it as text."""
    start = source.starts[mended.row] + mended.column
    end = source.starts[mended.last_row] + len(source.line(mended.last_row + 1).rstrip())
    if mended.last_row == mended.row:
        end = start + mended.width
    return between(source, start, end, mended.written)


def _offset(source: Source, mark: yaml.Mark) -> int:
    """Return the offset of a mark of the YAML library; past the text, its end."""
    if mark.line >= len(source.starts):
        return len(source.text)
    return min(source.starts[mark.line] + mark.column, len(source.text))


def _mark(error: yaml.MarkedYAMLError) -> yaml.Mark | None:
    """Return the mark of a fault, which YAML may notice only in the next row, or at the end."""
    problem = error.problem or ""
    if "could not find expected ':'" in problem or "unexpected end of stream" in problem:
        return error.context_mark or error.problem_mark
    return error.problem_mark or error.context_mark


def _yaml_fault(source: Source, error: yaml.MarkedYAMLError) -> Finding:
    mark = _mark(error)
    spot = source.spot(_offset(source, mark) if mark else 0)
    from cyclechart.text.indentation import bad_indentation  # only a file with a fault needs it

    bad = bad_indentation(source, spot.line - 1)
    if bad is not None:
        row = source.line(bad.row + 1)
        start = source.starts[bad.row] + len(row) - len(row.lstrip())
        spot = source.spot(start, len(row.strip()))
        return reading_rules.unreadable(spot, bad.message, [bad.suggestion])
    problem = (error.problem or "there is a syntax error").replace("\n", " ")
    tries = []
    if "expected ':'" in problem:
        tries.append("write a colon after the key, as in tonic: D")
    elif "mapping values" in problem:
        tries.append("quote the text, or put it under the key in a block (|)")
    elif "expected" in problem or "did not find" in problem:
        tries.append("line the keys up under each other, and close every quote and bracket")
    return reading_rules.unreadable(spot, f"YAML cannot read this: {problem}", tries)


def _compose(source: Source) -> tuple[Node | None, list[Finding]]:
    """Return the root of a file that YAML can read; None for an empty or an endless one."""
    _refuse_depth(source.text)
    loader = mending.COMPOSER(source.text)
    try:
        tree = loader.get_single_node()
    finally:
        loader.dispose()
    if tree is None:
        return None, [reading_rules.unreadable(source.spot(0), "the file is empty", [])]
    builder = _TreeBuilder(source)
    try:
        return builder.node(tree, 0), builder.findings
    except _TooMany as stop:
        return None, [*builder.findings, reading_rules.too_long(source.spot(0), str(stop))]


def _refuse_depth(text: str) -> None:
    """Refuse brackets nested past any use before the composer recurses into them."""
    depth = deepest = 0
    for letter in text:
        if letter in "[{":
            depth += 1
            deepest = max(deepest, depth)
        elif letter in "]}":
            depth = max(0, depth - 1)
    if deepest > 200:
        raise RecursionError


class _TooMany(Exception):
    """The file holds more nodes, or deeper ones, than a piece can."""


class _TreeBuilder:
    """Turns the library's nodes into ours, with limits against alias bombs."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.findings = Findings()
        self.count = 0

    def node(self, node: yaml.Node, depth: int) -> Node:
        self.count += 1
        if self.count > MAX_NODES:
            raise _TooMany(
                f"the file has more than {MAX_NODES:,} values, counting those that aliases repeat"
            )
        if depth > MAX_DEPTH:
            raise _TooMany(f"the file is nested more than {MAX_DEPTH} levels deep")
        start, end = _offset(self.source, node.start_mark), _offset(self.source, node.end_mark)
        self._refuse_tag(node, start)
        if isinstance(node, yaml.ScalarNode):
            start = _PROPERTIES.match(self.source.text, start, end).end()  # type: ignore[union-attr]
            return Scalar(self.source, start, end, node.value, node.style or None)
        if isinstance(node, yaml.SequenceNode):
            items = tuple(self.node(item, depth + 1) for item in node.value)
            return Sequence(self.source, start, end, items)
        assert isinstance(node, yaml.MappingNode)
        return self.mapping(node, start, end, depth)

    def mapping(self, node: yaml.MappingNode, start: int, end: int, depth: int) -> Node:
        pairs: dict[str, tuple[Scalar, Node]] = {}
        doubles: list[tuple[Scalar, Node]] = []
        for key_node, value_node in node.value:
            key = self.node(key_node, depth + 1)
            value = self.node(value_node, depth + 1)
            if not isinstance(key, Scalar):
                self.findings.append(
                    reading_rules.wrong_value(
                        key.spot, "a key must be one word, not a list or a mapping"
                    )
                )
            elif key.text in pairs:
                doubles.append((key, value))
                first = pairs[key.text][0].spot.line
                self.findings.append(reading_rules.duplicate_key(key.spot, key.text, first))
            else:
                pairs[key.text] = (key, value)
        return Mapping(self.source, start, end, pairs, tuple(doubles))

    def _refuse_tag(self, node: yaml.Node, start: int) -> None:
        found = _TAG.match(self.source.text, start)
        if found:
            tag = found[1]
            self.findings.append(
                reading_rules.wrong_value(
                    self.source.spot(found.start(1), len(tag)),
                    f"'{clip(tag)}' is a YAML tag, and a piece cannot have tags",
                    ["put the text in quotes, or under the key in a block (|)"],
                )
            )


def comment_after(node: Scalar) -> str:
    """The YAML comment on the line where a value ends, or ""."""
    tail = node.source.text[node.end :].split("\n", 1)[0].strip()
    return tail if tail.startswith("#") else ""


def comments_after(root: Node) -> Iterator[tuple[tuple[str, ...], Scalar, str]]:
    """Plain scalars followed on their line by a comment: (path of keys, scalar, comment)."""

    def walk(node: Node, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Scalar, str]]:
        if isinstance(node, Mapping):
            for key, (_, value) in node.pairs.items():
                yield from walk(value, (*path, key))
        elif isinstance(node, Sequence):
            for item in node.items:
                yield from walk(item, path)
        elif isinstance(node, Scalar) and node.style is None and node.text:
            comment = comment_after(node)
            if comment:
                yield path, node, comment

    yield from walk(root, ())
