"""Texts made safe for a page: no invisible character may change how the visible ones are set.

What is written stays as it is wherever it can be shown; only what would hide, turn around or pile
up is taken away.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator

from cyclechart.text.direction import has_leftward

MOST_MARKS = 4
"""Marks above or below one letter that are kept: more would run into the lines around it."""

MOST_SIGNS = 12
"""Marks of any kind after one letter that are kept, vowel signs of Indic scripts among them."""

LEFT_ALONE = re.compile("[\n\x20-\x7e\xa0-\xac\xae-\u02ff]*")
"""A text of only these characters needs no change."""

_ROMAN = re.compile("i{1,3}|iv|vi{0,3}|ix|x")
"""The number of a player among several of one instrument."""

JOINER = "\u200d"
ZERO_SPACE = "\u200b"
_APART, _TOGETHER = "\u2068", "\u2069"
_STEERING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u206a\u206b"
                      "\u206c\u206d\u206e\u206f")  # fmt: skip
_SPACES = frozenset("\t\n\x0b\x0c\r\x1c\x1d\x1e\x1f\x85\u2028\u2029")
_UNSEEN = frozenset("\ufeff\ufff9\ufffa\ufffb\u00ad\u2060")
_MIXED = re.compile(r"(?<![\d/.,])(\d{1,6}) (?=\d{1,4}/\d{1,4}(?![\d/]))", re.ASCII)
NO_BREAK = "\u00a0"
_WIDE = {"\ufdfd": 12, "\u2e3a": 2, "\u2e3b": 3, "\u2031": 2}
"""Signs much wider than a letter, in letters."""


def tidy(text: str) -> str:
    """A text in one line, without what a reader cannot see.

    Line breaks and tabs are spaces; other controls and the signs that turn writing around are left
    out, private signs and halves of pairs of surrogates are �, marks without end are cut.
    """
    if LEFT_ALONE.fullmatch(text):
        return text.replace("\n", " ")
    return "".join(_few_marks(_seen(text)))


def shown(text: str) -> str:
    """A text as it is set on a page: tidy, and unable to turn what stands around it.

    With letters of a script that runs from right to left it is set apart (U+2068, U+2069).
    """
    plain = tidy(text)
    return f"{_APART}{plain}{_TOGETHER}" if has_leftward(plain) else plain


def settable(text: str, most: int = 30) -> str:
    """A text of the user's as a page sets it: shown, with places to break long words."""
    return breakable(shown(text), most)


def player_title(name: str) -> str:
    """Return a player's name as people write it on a page: ``tenor-sax`` is Tenor Sax.

    A name with capitals or with letters beyond ASCII is left as its owner wrote it.
    """
    if not name.isascii() or name != name.lower():
        return name
    words = re.split(r"[-_\s]+", name)
    capitals = (
        word.upper() if _ROMAN.fullmatch(word) else word[:1].upper() + word[1:] for word in words
    )
    return " ".join(capitals).strip() or name


def as_read(text: str) -> str:
    """A shown text without the signs that set it apart and the places to break it."""
    return re.sub(f"[{_APART}{_TOGETHER}{ZERO_SPACE}]", "", text)


def _seen(text: str) -> Iterator[str]:
    for sign in text:
        if sign in _SPACES:
            yield " "
        elif sign in _STEERING or sign in _UNSEEN:
            continue
        elif "\ud800" <= sign <= "\udfff" or unicodedata.category(sign) == "Co":
            yield "�"
        elif unicodedata.category(sign) != "Cc" and not _is_no_character(sign):
            yield sign


def _is_no_character(sign: str) -> bool:
    """Return whether Unicode reserves this code for ever (the last two of every plane, and 32)."""
    code = ord(sign)
    return code & 0xFFFE == 0xFFFE or 0xFDD0 <= code <= 0xFDEF


def _few_marks(signs: Iterable[str]) -> Iterator[str]:
    stacked = signs_on = 0
    for sign in signs:
        if not is_mark(sign):
            stacked = signs_on = 0
        else:
            signs_on += 1
            stacked += unicodedata.combining(sign) >= 200
            high = stacked > MOST_MARKS and unicodedata.combining(sign) >= 200
            if high or signs_on > MOST_SIGNS:
                continue
        yield sign


def is_mark(sign: str) -> bool:
    """Return whether a sign stands on the letter before it."""
    return unicodedata.category(sign)[0] == "M"


def breakable(text: str, most: int = 20) -> str:
    """A text that can be broken after so many letters without a place to break at.

    The page breaks no word by itself. No mark, joined sign, half of a flag or part of a conjunct is
    separated from its letter, and no fraction from its whole (7 3/4).
    """
    if len(text) <= most and text.isascii():
        return _MIXED.sub(_whole, text)
    parts = []
    run = 0
    for cluster in clusters(text):
        width = sum(map(_width, cluster))
        if cluster in (" ", ZERO_SPACE):
            run = width = 0
        elif run and run + width > most:
            parts.append(ZERO_SPACE)
            run = 0
        parts.append(cluster)
        run += width
    return _MIXED.sub(_whole, "".join(parts))


def _whole(match: re.Match[str]) -> str:
    return match[1] + NO_BREAK


def _width(sign: str) -> int:
    """The approximate width of a sign in wide letters; pictures and Chinese characters are two."""
    if unicodedata.category(sign) in ("Mn", "Me", "Cf"):
        return 0
    return _WIDE.get(sign) or (2 if unicodedata.east_asian_width(sign) in "WF" else 1)


def columns(text: str) -> int:
    """Return how many columns a text takes in a row of letters of one width."""
    return len(text) if text.isascii() else sum(map(_width, text))


_VIRAMA = 9
"""The combining class of the sign that joins two consonants into one."""

LONGEST = 16
"""The most characters that are kept together: chains of joined signs may be endless."""


def clusters(text: str) -> Iterator[str]:
    """The letters of a text, each with what belongs to it."""
    made = ""
    for sign in text:
        if made and not _belongs(sign, made):
            yield made
            made = ""
        made += sign
    if made:
        yield made


def _belongs(sign: str, before: str) -> bool:
    last = before[-1]
    if len(before) >= LONGEST:
        return False
    if is_mark(sign) or sign in (JOINER, "\u200c") or "\U000e0020" <= sign <= "\U000e007f":
        return True
    if "\U0001f3fb" <= sign <= "\U0001f3ff" or last == JOINER:
        return True
    if _is_flag_half(sign):
        return len(before) == 1 and _is_flag_half(last)
    return unicodedata.combining(last) == _VIRAMA and sign.isalpha()


def _is_flag_half(sign: str) -> bool:
    return "\U0001f1e6" <= sign <= "\U0001f1ff"
