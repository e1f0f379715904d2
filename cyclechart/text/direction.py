"""The direction of writing: levels of the Unicode bidirectional algorithm (UAX 9) for one line.

An even level runs to the right, an odd one to the left; a higher one lies within the one around it.
Signs that steer the direction are left out before (``display.shown``).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterator, Sequence
from itertools import groupby
from typing import TypeVar

Item = TypeVar("Item")

_OPENING = {"(": ")", "[": "]", "{": "}"}
_LETTERS = ("L", "R", "AL")
_NUMBERS = ("EN", "AN")


def has_leftward(text: str) -> bool:
    """Return whether a letter of the text runs from right to left."""
    return any(unicodedata.bidirectional(sign) in ("R", "AL") for sign in text)


def begins_leftward(text: str) -> bool:
    """Return whether the first letter of the text runs from right to left."""
    kinds = (unicodedata.bidirectional(sign) for sign in text)
    return next((kind for kind in kinds if kind in _LETTERS), "L") != "L"


def levels(text: str) -> list[int]:
    """The level of each character, where the first letter decides for the whole text."""
    base = int(begins_leftward(text))
    around = "R" if base else "L"
    kinds = _with_numbers(_with_marks(text, around), around)
    _resolve_brackets(text, kinds, around)
    _resolve_neutrals(kinds, around)
    found = [_level(kind, base) for kind in kinds]
    for at in range(len(text.rstrip(" ")), len(text)):
        found[at] = base
    return found


def _level(kind: str, base: int) -> int:
    if kind in _NUMBERS:
        return 2
    return base if (kind == "R") == bool(base) else base + 1


def as_drawn(items: Sequence[Item], level_of: Callable[[Item], int]) -> list[Item]:
    """Items of one level each, from left to right as they are drawn (rule L2)."""
    drawn = list(items)
    for level in range(max(map(level_of, items), default=0), 0, -1):
        turned: list[Item] = []
        for high, group in groupby(drawn, key=lambda item: level_of(item) >= level):
            same = list(group)
            turned += same[::-1] if high else same
        drawn = turned
    return drawn


def _with_marks(text: str, around: str) -> list[str]:
    """The kinds of the characters; marks and joiners have that of the letter before (W1)."""
    kinds: list[str] = []
    for sign in text:
        kind = unicodedata.bidirectional(sign) or "L"
        kinds.append((kinds[-1] if kinds else around) if kind in ("NSM", "BN") else kind)
    return kinds


def _with_numbers(kinds: list[str], around: str) -> list[str]:
    """Numbers after the letter before them, with their signs and separators (W2 to W7)."""
    last = around
    for at, kind in enumerate(kinds):
        if kind in _LETTERS:
            last = kind
        elif kind == "EN" and last == "AL":
            kinds[at] = "AN"
    for at in range(1, len(kinds) - 1):
        before, kind, after = kinds[at - 1 : at + 2]
        if before == after and (kind, before) in (("ES", "EN"), ("CS", "EN"), ("CS", "AN")):
            kinds[at] = before
    for first, end in _spans(kinds, lambda kind: kind == "ET"):
        if "EN" in (*kinds[max(first - 1, 0) : first], *kinds[end : end + 1]):
            kinds[first:end] = ["EN"] * (end - first)
    last = around
    for at, kind in enumerate(kinds):
        if kind in _LETTERS:
            last = kind
        elif kind == "EN" and last == "L":
            kinds[at] = "L"
    return ["R" if kind == "AL" else kind for kind in kinds]


def _resolve_brackets(text: str, kinds: list[str], around: str) -> None:
    """A pair of brackets runs as the text around it, or as what is before it and in it (N0)."""
    for first, last in sorted(_pairs(text, kinds)):
        inside = {_way(kind) for kind in kinds[first + 1 : last]} - {""}
        if around in inside:
            kinds[first] = kinds[last] = around
        elif inside:
            before = next((way for kind in kinds[first - 1 :: -1] if (way := _way(kind))), around)
            kinds[first] = kinds[last] = before if first else around


def _pairs(text: str, kinds: Sequence[str]) -> Iterator[tuple[int, int]]:
    opened: list[tuple[str, int]] = []
    for at, sign in enumerate(text):
        if kinds[at] != "ON":
            continue
        if sign in _OPENING:
            opened.append((_OPENING[sign], at))
        elif sign in [closing for closing, _ in opened]:
            while opened:
                closing, first = opened.pop()
                if closing == sign:
                    yield first, at
                    break


def _way(kind: str) -> str:
    """L or R of a letter or number, "" of anything else; numbers count as R."""
    return "R" if kind in _NUMBERS else kind if kind in ("L", "R") else ""


def _resolve_neutrals(kinds: list[str], around: str) -> None:
    """Give all other characters the direction of both neighbours, or of the text (N1, N2)."""
    for first, end in _spans(kinds, lambda kind: not _way(kind)):
        before = _way(kinds[first - 1]) if first else around
        after = _way(kinds[end]) if end < len(kinds) else around
        kinds[first:end] = [before if before == after else around] * (end - first)


def _spans(kinds: Sequence[str], fits: Callable[[str], bool]) -> list[tuple[int, int]]:
    """From where to where (end left out) kinds fit."""
    found = []
    at = 0
    for fit, group in groupby(kinds, key=fits):
        size = len(list(group))
        if fit:
            found.append((at, at + size))
        at += size
    return found
