"""The YAML text of a piece, from its keys, players, lines and form."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple

_PLAIN = re.compile(r"[^\W_](?:[\w ./'()+♭♯-]*[\w./'()+♭♯-])?")
_NOTHING = re.compile(r"(?i)null")


class DraftKey(NamedTuple):
    """A key with its value as a text, or as ready YAML (``{plays: drone}``), and a comment."""

    key: str
    value: str
    comment: str = ""
    ready: bool = False


class DraftLine(NamedTuple):
    """A line: its name, what kind of text it has (``sargam``, ``strokes``, ``kit``, ``cadence``),
    the rows of that text (YAML of the block below for a cadence), its other keys, comments."""

    name: str
    kind: str
    rows: tuple[str, ...]
    keys: tuple[DraftKey, ...] = ()
    comments: tuple[str, ...] = ()


class DraftPiece(NamedTuple):
    """A piece as text: the comments at its top, its keys in order, players, lines, steps.

    ``form``: each step is the keys of one mapping, its verb first.
    """

    comments: tuple[str, ...]
    keys: tuple[DraftKey, ...]
    players: tuple[DraftKey, ...]
    lines: tuple[DraftLine, ...]
    form: tuple[tuple[DraftKey, ...], ...] = ()


def piece_text(draft: DraftPiece) -> str:
    """Return the file of a piece; the same draft gives the same bytes."""
    rows: list[str] = [*_comments(draft.comments, ""), *_keys(draft.keys, "")]
    if draft.players:
        rows += ["", "players:", *_keys(draft.players, "  ")]
    rows += ["", "lines:"]
    for number, line in enumerate(draft.lines):
        rows += [""] * bool(number) + line_rows(line)
    if draft.form:
        rows += ["", "form:"]
        for step in draft.form:
            first, *others = _keys(step, "")
            rows += [f"  - {first}", *(f"    {row}" for row in others)]
    return "\n".join(rows) + "\n"


def line_rows(line: DraftLine) -> list[str]:
    """Return the rows of a line under ``lines:``, its text in a block."""
    rows = [*_comments(line.comments, "  "), f"  {scalar(line.name)}:", *_keys(line.keys, "    ")]
    head = f"    {line.kind}:" + ("" if line.kind == "cadence" else " |")
    return [*rows, head, *(f"      {row}".rstrip() for row in line.rows)]


def scalar(text: str) -> str:
    """Return a text as a YAML scalar of one row: plain where YAML reads it back alike, else in
    double quotes."""
    if _PLAIN.fullmatch(text) and not _NOTHING.fullmatch(text):
        return text
    return json.dumps(text, ensure_ascii=False)


def _keys(keys: Iterable[DraftKey], indent: str) -> Iterator[str]:
    for one in keys:
        value = one.value if one.ready else scalar(one.value)
        comment = f"  # {one.comment}" if one.comment else ""
        yield f"{indent}{scalar(one.key)}: {value}{comment}"


def _comments(comments: Iterable[str], indent: str) -> Iterator[str]:
    for comment in comments:
        yield f"{indent}# {comment}".rstrip()
