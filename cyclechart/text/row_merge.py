"""Two versions of a text put together, row by row, by what each changed in the text before both."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from difflib import SequenceMatcher
from itertools import chain
from typing import Literal, NamedTuple

MOST_COMPARED = 1_000_000
"""The most pairs of rows that are compared; what differs in longer texts counts as one change."""


class MergeBlock(NamedTuple):
    """Rows that belong together in a merge.

    ``kind``: who changed them; "same" where nobody did, or both alike; "both" where each changed
    them in another way. The rows are those before both, and those of each version.
    """

    kind: Literal["same", "mine", "theirs", "both"]
    base: tuple[str, ...]
    mine: tuple[str, ...]
    theirs: tuple[str, ...]

    @property
    def rows(self) -> tuple[str, ...] | None:
        """The rows of the merge; None where a person has to choose."""
        if self.kind == "both":
            return None
        return self.theirs if self.kind == "theirs" else self.mine


class _Change(NamedTuple):
    """The rows ``start`` to ``end`` of the base that a version has replaced by ``rows``."""

    start: int
    end: int
    rows: Sequence[str]


def merge_blocks(base: str, mine: str, theirs: str) -> list[MergeBlock]:
    """Return the blocks of a three-way merge, in order; side by side they are the whole texts."""
    old = base.split("\n")
    own, other = _changes(old, mine.split("\n")), _changes(old, theirs.split("\n"))
    blocks: list[MergeBlock] = []
    at = 0
    for start, end, of_mine, of_theirs in _groups(own, other):
        if at < start:
            blocks.append(_same(old[at:start]))
        rows = tuple(old[start:end])
        left, right = _replaced(old, start, end, of_mine), _replaced(old, start, end, of_theirs)
        if left == right:
            blocks.append(MergeBlock("same", rows, left, right))
        elif left == rows or right == rows:
            blocks.append(MergeBlock("theirs" if left == rows else "mine", rows, left, right))
        else:
            blocks.append(MergeBlock("both", rows, left, right))
        at = end
    if at < len(old):
        blocks.append(_same(old[at:]))
    return blocks


def merged_text(blocks: Sequence[MergeBlock]) -> str | None:
    """Return the text of a merge; None where both versions changed the same rows."""
    rows = [block.rows for block in blocks]
    if any(one is None for one in rows):
        return None
    return "\n".join(chain.from_iterable(one for one in rows if one is not None))


def _same(rows: Sequence[str]) -> MergeBlock:
    return MergeBlock("same", tuple(rows), tuple(rows), tuple(rows))


def _changes(old: Sequence[str], new: Sequence[str]) -> list[_Change]:
    """Return what was changed from some rows to others."""
    head = 0
    while head < min(len(old), len(new)) and old[head] == new[head]:
        head += 1
    tail = 0
    while tail < min(len(old), len(new)) - head and old[-1 - tail] == new[-1 - tail]:
        tail += 1
    before, after = old[head : len(old) - tail], new[head : len(new) - tail]
    if not before and not after:
        return []
    if len(before) * len(after) > MOST_COMPARED:
        return [_Change(head, head + len(before), after)]
    matcher = SequenceMatcher(None, before, after, autojunk=False)
    return [
        _Change(head + start, head + end, after[first:last])
        for kind, start, end, first, last in matcher.get_opcodes()
        if kind != "equal"
    ]


def _groups(
    mine: Sequence[_Change], theirs: Sequence[_Change]
) -> Iterator[tuple[int, int, list[_Change], list[_Change]]]:
    """Yield rows of the base that changes touch together, with the changes of each version."""
    left, right = list(mine), list(theirs)
    while left or right:
        first = min([*left[:1], *right[:1]], key=lambda change: change[:2])
        start, end = first.start, first.end
        of_mine: list[_Change] = []
        of_theirs: list[_Change] = []
        grown = True
        while grown:
            grown = False
            for changes, of in ((left, of_mine), (right, of_theirs)):
                while changes and (
                    changes[0] is first or _meet(changes[0], start, end, bool(of_mine or of_theirs))
                ):
                    change = changes.pop(0)
                    of.append(change)
                    start, end = min(start, change.start), max(end, change.end)
                    grown = True
        yield start, end, of_mine, of_theirs


def _meet(change: _Change, start: int, end: int, begun: bool) -> bool:
    """Return whether a change is about the same rows; rows put in at an edge are, too."""
    if not begun:
        return False
    if change.start == change.end or start == end:
        return change.start <= end and change.end >= start
    return change.start < end and change.end > start


def _replaced(
    old: Sequence[str], start: int, end: int, changes: Sequence[_Change]
) -> tuple[str, ...]:
    """Return rows of the base as a version has them."""
    rows: list[str] = []
    at = start
    for change in changes:
        rows += [*old[at : change.start], *change.rows]
        at = change.end
    return (*rows, *old[at:end])
