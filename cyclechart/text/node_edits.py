"""Edits on the nodes of a file: a value in place of another, a key put in, renamed or removed.

Each returns the edits, or () where the text as it is written does not allow them. Their places are
those of the file, also where the nodes come from a text with values quoted in memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from cyclechart.finding import Edit
from cyclechart.text.edits import Edits, between
from cyclechart.text.excerpts import quoted
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence, comment_after
from cyclechart.text.source import Source

# Patterns are compiled where something is edited: every ``check`` pays for what is loaded.
_LEAD = r"[ ]*(?:-[ ]+)*"
_RESERVED = "-?:,[]{}#&*!|>'\"%@`="
"""The characters that a plain text cannot begin with, or had better not."""
_NEVER_PLAIN = r":(?=\s|$)|\s#|[\n\t\\]|^\s|\s$|^$"
_NOT_IN_BRACKETS = r"[,?\[\]{}]|:(?=[,\[\]{}])"
MOST_OF_A_PROPERTY = 1000
"""Characters of an anchor or a tag with the spaces behind it."""


def is_plain(text: str, *, in_brackets: bool = True) -> bool:
    """Return whether YAML reads a text as it stands: anywhere, or only outside [ ] and { }."""
    if re.search(_NEVER_PLAIN, text) or not text.isprintable():
        return False
    if text[0] in _RESERVED and not re.match(r"-\d", text):
        return False
    return not (in_brackets and re.search(_NOT_IN_BRACKETS, text))


def scalar_text(text: str, style: str | None = None, *, in_brackets: bool = True) -> str:
    """Return a text of one row as YAML: in the quotes of ``style``, plain, or else quoted."""
    if style in ("'", '"'):
        return f"{style}{in_quotes(text, style)}{style}"
    return text if is_plain(text, in_brackets=in_brackets) else quoted(text)


def in_quotes(text: str, style: str | None) -> str:
    """Return a text as it is written inside the quotes of a style; plain and blocks as it is."""
    if style == "'":
        return text.replace("'", "''")
    if style == '"':
        return text.replace("\\", "\\\\").replace('"', '\\"')
    return text


def with_value(node: Node, text: str, *, ready: bool = False) -> Edits:
    """Return the edits that put a value in place of another: a text, or YAML that is ``ready``.

    Where an alias stands for the value, the value that it repeats is changed.
    """
    source = node.source
    start, end = node.start, content_end(node)
    style = node.style if isinstance(node, Scalar) else None
    written = text if ready else scalar_text(text, style)
    if isinstance(node, Scalar) and end <= start:
        at = _after_colon(source, start)
        # A comment in place of a value is a value that is written so.
        over = _end_of_row(source, at) if "\n" in written and comment_after(node) else at
        return (between(source, at, over, f" {written}"),)
    head, *rows = written.split("\n")
    row_end = _end_of_row(source, end)
    if not rows or not source.text[end:row_end].strip():
        return (between(source, start, end, written),)
    below = "".join(f"\n{row}" for row in rows)
    return (between(source, start, end, head), between(source, row_end, row_end, below))


def _after_colon(source: Source, at: int) -> int:
    """Return the offset right after the colon or dash that an empty value stands behind."""
    while source.text[at - 1 : at] == " ":
        at -= 1
    return at


def renamed(key: Scalar, name: str) -> Edits:
    """Return the edits that give a key another name."""
    if "\n" in key.source.text[key.start : key.end]:
        return ()
    return (between(key.source, key.start, key.end, scalar_text(name, key.style)),)


def with_key(
    mapping: Mapping, key: str, value: str, after: Iterable[str] = (), *, ready: bool = False
) -> Edits:
    """Return the edits that give a key a value: in place of what it has, or put in.

    ``after``: the keys that it had better stand behind, the last of them that is there; else it
    comes first. ``ready``: the value is YAML, its further rows indented from the key's column.
    """
    written = value if ready else scalar_text(value)
    if has_alias(mapping, key):
        named, end = mapping.pairs[key][0], _pair_end(mapping, key)
        start = mapping.source.text.rfind("*", named.end, end)
        return (between(mapping.source, start, end, written),) if start > 0 else ()
    if key in mapping.pairs:
        return with_value(mapping.pairs[key][1], value, ready=ready)
    return inserted(mapping, f"{scalar_text(key)}: {written}", after)


def inserted(mapping: Mapping, pair: str, after: Iterable[str] = ()) -> Edits:
    """Return the edits that put a ready pair of key and value into a mapping.

    Its further rows are indented from the column of its key; in braces it must have one row.
    """
    source = mapping.source
    if is_in_braces(mapping):
        if "\n" in pair:
            return ()
        at = _opening(mapping) + 1
        return (between(source, at, at, f"{pair}, " if mapping.pairs else pair),)
    if not mapping.pairs:
        return ()
    first = next(iter(mapping.pairs.values()))[0]
    row = source.text.rfind("\n", 0, first.start) + 1
    lead = source.text[row : first.start]
    rows = pair.split("\n")
    indent = "\n" + " " * len(lead)
    known = [name for name in after if name in mapping.pairs]
    if known:
        at = _end_of_row(source, _pair_end(mapping, known[-1]))
        if _has_own_row(mapping, known[-1]):
            return (between(source, at, at, "".join(indent + one for one in rows)),)
    if not re.fullmatch(_LEAD, lead):
        return ()
    return (between(source, first.start, first.start, "".join(one + indent for one in rows)),)


def replaced(mapping: Mapping, key: str, pair: str) -> Edits:
    """Return the edits that put a ready pair of key and value, or several, a row each, in place of
    a key and its value in block style."""
    source, start = mapping.source, mapping.pairs[key][0].start
    column = start - source.text.rfind("\n", 0, start) - 1
    return (
        between(source, start, _pair_end(mapping, key), pair.replace("\n", "\n" + " " * column)),
    )


def removed(mapping: Mapping, key: str) -> Edits:
    """Return the edits that take a key out with its value, and the comment on its row; () for the
    only key."""
    if len(mapping.pairs) < 2:
        return ()
    named = mapping.pairs[key][0]
    row = mapping.source.text.rfind("\n", 0, named.start) + 1
    if not is_in_braces(mapping) and mapping.source.text[row : named.start].strip():
        names = list(mapping.pairs)  # behind the dash of a list: the next key moves up to it
        follower = names[names.index(key) + 1 :][:1]
        return tuple(
            between(mapping.source, named.start, mapping.pairs[name][0].start, "")
            for name in follower
        )
    return _removed(mapping, named.start, _pair_end(mapping, key))


def pair_removed(mapping: Mapping, key: Scalar, value: Node) -> Edits:
    """Return the edits that take out a key that is written again, with its value."""
    if value.start < key.end:
        return ()
    return _removed(mapping, key.start, max(content_end(value), key.end))


def _removed(mapping: Mapping, start: int, end: int) -> Edits:
    source, text = mapping.source, mapping.source.text
    if is_in_braces(mapping):
        return (_cut_from_braces(source, start, end),)
    row, stop = text.rfind("\n", 0, start) + 1, _end_of_row(source, end)
    if text[row:start].strip():
        return ()
    if stop == len(text):
        return (between(source, max(row - 1, 0), stop, ""),)
    return (between(source, row, stop + 1, ""),)


def commented_out(key: Scalar, value: Node) -> Edits:
    """Return the edits that make comments of the rows of a key and its value in block style."""
    source, text = key.source, key.source.text
    row = text.rfind("\n", 0, key.start) + 1
    if value.start < key.end or text[row : key.start].strip():
        return ()
    column, stop = key.start - row, _end_of_row(source, content_end(value))
    edits = []
    while row < stop:
        if text[row : _end_of_row(source, row)].strip():
            edits.append(between(source, row + column, row + column, "# "))
        row = _end_of_row(source, row) + 1
    return tuple(edits)


def _cut_from_braces(source: Source, start: int, end: int) -> Edit:
    """Return the edit that takes a part out of braces or brackets, with one comma."""
    text = source.text
    after = re.compile(r"\s*,[ ]*").match(text, end)
    if after:
        return between(source, start, after.end(), "")
    before = len(text[:start].rstrip())
    if text[before - 1 : before] == ",":
        return between(source, before - 1, end, "")
    return between(source, start, end, "")


def item_removed(sequence: Sequence, index: int) -> Edits:
    """Return the edits that take an item out of a list; () for the only one, or an alias."""
    source, text = sequence.source, sequence.source.text
    item = sequence.items[index]
    start = sequence.start
    if len(sequence.items) < 2 or not start <= item.start < sequence.end:
        return ()
    end = content_end(item)
    if is_in_brackets(sequence):
        return (_cut_from_braces(source, item.start, end),)
    row = text.rfind("\n", 0, item.start) + 1
    if text[row : item.start].strip() != "-":
        return ()
    stop = _end_of_row(source, end)
    return (between(source, row, min(stop + 1, len(text)), ""),)


def item_added(sequence: Sequence, pair: str) -> Edits:
    """Return the edits that put a mapping of one ready pair at the end of a list."""
    source, text = sequence.source, sequence.source.text
    if not sequence.items:
        return ()
    last = sequence.items[-1]
    if not sequence.start <= last.start < sequence.end:
        return ()  # an alias
    end = content_end(last)
    if is_in_brackets(sequence):
        return (between(source, end, end, f", {{{pair}}}"),)
    first = sequence.items[0].start
    row = text.rfind("\n", 0, first) + 1
    if text[row:first].strip() != "-":
        return ()
    at = _end_of_row(source, end)
    return (between(source, at, at, f"\n{text[row:first]}{pair}"),)


def has_alias(mapping: Mapping, key: str) -> bool:
    """Return whether an alias stands for the value of a key."""
    pair = mapping.pairs.get(key)
    return pair is not None and pair[1].start < pair[0].end


def content_end(node: Node) -> int:
    """Return the offset where the last character of a node ends.

    A collection in block style ends for YAML where the next thing begins, after blank rows and
    comments; a block of text after its last line end.
    """
    text = node.source.text
    if isinstance(node, Mapping) and not is_in_braces(node) and node.pairs:
        return _pair_end(node, next(reversed(node.pairs)))
    if isinstance(node, Sequence) and node.items and not is_in_brackets(node):
        last = node.items[-1]
        if node.start <= last.start < node.end:
            return content_end(last)
    return node.start + len(text[node.start : node.end].rstrip())


def _pair_end(mapping: Mapping, key: str) -> int:
    """Return the offset where the value of a key ends; of an alias where its name does."""
    named, value = mapping.pairs[key]
    if value.start >= named.end:
        return max(content_end(value), named.end)
    text = mapping.source.text
    alias = re.compile(r"[\"']?\s*:\s*\*[^\s,\]}]+").match(text, named.end)
    return alias.end() if alias else named.end


def _has_own_row(mapping: Mapping, key: str) -> bool:
    """Return whether nothing but a comment follows the value of a key on its last row."""
    end = _pair_end(mapping, key)
    rest = mapping.source.text[end : _end_of_row(mapping.source, end)].strip()
    return not rest or rest.startswith("#") or rest.strip(" :") == ""


def _end_of_row(source: Source, at: int) -> int:
    end = source.text.find("\n", at)
    return len(source.text) if end < 0 else end


def _opening(node: Node) -> int:
    """Return the offset of the first character of a node behind an anchor or tag."""
    text, at = node.source.text, node.start
    while text[at : at + 1] in ("&", "!"):
        at += len(re.match(r"\S*\s*", text[at : at + MOST_OF_A_PROPERTY])[0])  # type: ignore[index]
    return at


def is_in_braces(mapping: Mapping) -> bool:
    """Return whether a mapping is written in { }."""
    at = _opening(mapping)
    return mapping.source.text[at : at + 1] == "{"


def is_in_brackets(sequence: Sequence) -> bool:
    at = _opening(sequence)
    return sequence.source.text[at : at + 1] == "["
