"""Sung text under a line, aligned as the ``w:`` lines of ABC 2.1 (section 5.1) are."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from collections.abc import Sequence as Several
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from cyclechart.finding import Finding
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Mapping, Node, Scalar, Sequence

MOST_VERSES = 20

_WORD = re.compile(r"(?:\\-|[^\s\-_*|])+|\|+|[-_*]")


def verses_in(node: Node | None) -> tuple[list[Scalar], list[Finding]]:
    """Return the texts under ``words``: one, or a list of verses; [] where there are none."""
    if node is None:
        return [], []
    several = isinstance(node, Sequence)
    items = node.items if isinstance(node, Sequence) else [node]
    texts = [item for item in items if isinstance(item, Scalar)]
    tries = ["words: One day we rowed", "words: [One day we rowed, Two days we drift-ed]"]
    if isinstance(node, Mapping) or len(texts) < len(items) or not texts:
        what = "words are a text, or a list of texts: its verses"
        return [], [reading_rules.wrong_value(node.spot, what, tries)]
    for number, text in enumerate(texts, start=1):
        if not text.text.strip():
            what = f"verse {number} is empty" if several else "words: the text is empty"
            return [], [reading_rules.wrong_value(text.spot, what, tries[-1:])]
    if len(texts) > MOST_VERSES:
        what = f"a line has at most {MOST_VERSES} verses, not {len(texts)}"
        return [], [reading_rules.too_long(node.spot, what)]
    return texts, []


def sung(
    texts: Several[Scalar], starts: list[Fraction], bars: list[Fraction]
) -> tuple[list[tuple[str, ...]], list[Finding]]:
    """Return the sung syllables of each note, one for each verse, as ``words_from`` has them.

    Where there are several verses, findings name theirs, and one that ends before the last note
    is told of.
    """
    verses, findings = [], []
    for number, text in enumerate(texts, start=1):
        words, reached, wrong = _aligned(text, starts, bars)
        if len(texts) > 1:
            if not wrong and (left := len(words) - reached):
                notes = "note" if left == 1 else f"{left} notes"
                what = f"it ends before the last {notes}"
                tries = ["write * for a note without a word, _ for one that is held over"]
                fewer = reading_rules.wrong_value(text.spot, what, tries)
                wrong = [replace(fewer, severity="warning")]
            wrong = [replace(one, message=f"verse {number}: {one.message}") for one in wrong]
        verses.append(words)
        findings += wrong
    return list(zip(*verses, strict=True)), findings


def words_from(
    node: Scalar, starts: list[Fraction], bars: list[Fraction]
) -> tuple[list[str], list[Finding]]:
    """Return the sung syllable of each note: "" for none, ``_`` for one that is held over.

    ``starts`` are where the notes begin, in beats from the line's beginning.

    A hyphen joins the syllable before it to the next one; preceded by white space or by another
    hyphen it is a syllable of its own, so that the one before is sung over one more note. ``|``
    goes on at the first note at or after the next of ``bars`` (beats from the line's beginning,
    rising); where there is none left it says nothing.
    """
    words, _, findings = _aligned(node, starts, bars)
    return words, findings


class Sign(NamedTuple):
    """A sign of sung text: the note that it stands on, or before where it has none of its own
    (``|``, and a hyphen that only joins two syllables); past the last one where there are more
    signs than notes."""

    text: str
    start: int
    note: int
    sung: bool
    """Whether the note is its own."""


def signs_on_notes(text: str, starts: Several[Fraction], bars: Several[Fraction]) -> Iterator[Sign]:
    """Yield the signs of a sung text in order, up to the first that has no note."""
    at, reached = 0, Fraction(-1)  # the next note; how far the words have come, in beats
    before, end = "", -1
    for match in _WORD.finditer(text):
        sign = match[0]
        joins = sign == "-" and match.start() == end and before != "-"
        before, end = sign, match.end()
        if sign[0] == "|":
            bar = bisect_right(bars, reached)
            if bar < len(bars):
                reached = bars[bar]
                at = max(at, bisect_left(starts, reached))
        sung = not joins and sign[0] != "|"
        yield Sign(sign, match.start(), at, sung)
        if not sung:
            continue
        if at >= len(starts):
            return
        reached = starts[at]
        at += 1


def _aligned(
    node: Scalar, starts: list[Fraction], bars: list[Fraction]
) -> tuple[list[str], int, list[Finding]]:
    """The syllables of ``words_from``, how many notes they reach over, and what is wrong."""
    words = [""] * len(starts)
    passage = node.passage()
    reached = 0
    for sign in signs_on_notes(passage.text, starts, bars):
        if sign.text == "-":
            _join(words, sign.note)
        reached = sign.note + sign.sung
        if not sign.sung:
            continue
        if sign.note >= len(words):
            what = f"there are more words than notes ({len(words)}), from '{clip(sign.text)}'"
            spot = passage.spot(sign.start, len(sign.text))
            wrong = reading_rules.wrong_value(spot, what, ["* skips a note, _ holds"])
            return words, sign.note, [wrong]
        if sign.text == "_":
            words[sign.note] = "_"
        elif sign.text not in ("*", "-"):
            words[sign.note] = sign.text.replace("~", " ").replace("\\-", "-")
    return words, reached, []


def _join(words: list[str], at: int) -> None:
    """The last syllable before a note gets its hyphen, over the notes it is held on."""
    for index in range(at - 1, -1, -1):
        if words[index] not in ("", "_"):
            words[index] = words[index].removesuffix("-") + "-"
            return
