"""Sung text under a line, aligned as the ``w:`` lines of ABC 2.1 (section 5.1) are."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from fractions import Fraction

from cyclechart.finding import Finding
from cyclechart.text import reading_rules
from cyclechart.text.excerpts import clip
from cyclechart.text.nodes import Scalar

_WORD = re.compile(r"(?:\\-|[^\s\-_*|])+|\|+|[-_*]")


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
    words = [""] * len(starts)
    passage = node.passage()
    at, reached = 0, Fraction(-1)  # the next note; how far the words have come, in beats
    before, end = "", -1
    for match in _WORD.finditer(passage.text):
        sign = match[0]
        glued = match.start() == end
        hyphen, before, end = before == "-", sign, match.end()
        if sign[0] == "|":
            bar = bisect_right(bars, reached)
            if bar < len(bars):
                reached = bars[bar]
                at = max(at, bisect_left(starts, reached))
            continue
        if sign == "-":
            _join(words, at)
            if glued and not hyphen:
                continue
        if at >= len(words):
            message = f"there are more words than notes ({len(words)}), from '{clip(sign)}'"
            spot = passage.spot(match.start(), len(sign))
            return words, [reading_rules.wrong_value(spot, message, ["* skips a note, _ holds"])]
        if sign == "_":
            words[at] = "_"
        elif sign not in ("*", "-"):
            words[at] = sign.replace("~", " ").replace("\\-", "-")
        reached = starts[at]
        at += 1
    return words, []


def _join(words: list[str], at: int) -> None:
    """The last syllable before a note gets its hyphen, over the notes it is held on."""
    for index in range(at - 1, -1, -1):
        if words[index] not in ("", "_"):
            words[index] = words[index].removesuffix("-") + "-"
            return
