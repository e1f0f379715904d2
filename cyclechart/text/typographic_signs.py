"""Signs as charts print them and as editors replace them, read as those that are typed.

Dots of the octave over and under a letter (Ṡ, N with U+0323), primes and typographic apostrophes,
dashes, bars and invisible joiners. What a sign is read as never depends on the letters around it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

from cyclechart.text.mark_reading import WORDS
from cyclechart.text.source import PlacedText

HOLDS = "\u2010\u2011\u2012\u2013\u2014\u2015\u2212"
"""Hyphens, dashes and the minus sign."""
UP_MARKS = "\u2018\u2019\u201b\u02b9\u02bc\u2032\u00b4`"
"""Apostrophes, primes and accents that stand for ' after a tone."""
_PLAIN = {
    **dict.fromkeys(HOLDS, "-"),
    **dict.fromkeys(UP_MARKS, "'"),
    **dict.fromkeys("\u201c\u201d\u201f\u2033\u02ba", "''"),
    "\u2034": "'''",
    **dict.fromkeys("\u201a\uff0c", ","),
    **dict.fromkeys("\uff5c\u2502\u0964", "|"),
    **dict.fromkeys("\u2016\u2551\u0965", "||"),
    **dict.fromkeys("\u200b\u200c\u200d\u2060\u00ad\ufeff", ""),
}
DOTS = {"\u0307": "'", "\u0308": "''", "\u0323": ",", "\u0324": ",,"}
"""The combining dots of the octave, as ``theory.tones.octave_dots`` prints them."""
_FIGURES = dict(zip("\u2081\u2082\u2083", "123", strict=True))
_SIGN_AFTER = {"solfa16": re.compile("[123\u2081\u2082\u2083]"), "letters": re.compile("[#b♯♭]")}
"""What may stand between a letter and its octave."""
_ASIDE = re.compile(rf"{WORDS}|(?:(?<=\s)|^)#(?=\s|$)[^\n]*", re.MULTILINE)
"""Words above a note and comments: they stay as they are."""
_QUOTES = re.compile("!([\u201c\u201d\u201f])([^\u201c\u201d\u201f\n]*)([\u201c\u201d\u201f])!")


def with_plain_signs(passage: PlacedText, key: str) -> PlacedText:
    """Return a passage with its signs as they are typed, each at the place of the one written.

    ``key`` is that of the text: in ``solfa16`` small figures are figures.
    """
    if passage.text.isascii():
        return passage
    text = passage.text
    aside = [match.span() for match in _ASIDE.finditer(text)]
    written: list[tuple[str, int]] = []
    at = 0
    for begin, end in [*aside, (len(text), len(text))]:
        written += _plain(text[at:begin], at, key)
        written += [(text[index], index) for index in range(begin, end)]
        at = end
    plain = "".join(sign for sign, _ in written)
    if plain == text:
        return passage
    return PlacedText(
        passage.source,
        plain,
        passage.base,
        (*(passage.place(index) for _, index in written), passage.place(len(text))),
    )


def _plain(text: str, start: int, key: str) -> Iterator[tuple[str, int]]:
    """Yield the plain characters of a stretch of text, each with the index it is from."""
    text = _QUOTES.sub(r'!"\2"!', text)
    after = _SIGN_AFTER.get(key)
    at = 0
    while at < len(text):
        sign = text[at]
        if text.startswith('!"', at) and (words := re.compile(WORDS).match(text, at)):
            yield from ((text[index], start + index) for index in range(at, words.end()))
            at = words.end()
            continue
        apart = list(unicodedata.normalize("NFD", sign))
        base, marks = apart[0], apart[1:]
        end = at + 1
        while end < len(text) and text[end] in DOTS:
            marks.append(text[end])
            end += 1
        if base.isascii() and base.isalnum() and marks and all(mark in DOTS for mark in marks):
            yield base, start + at
            if after is not None and (found := after.match(text, end)):
                yield _FIGURES.get(found[0], found[0]), start + end
                end += 1
            yield from ((one, start + at) for mark in marks for one in DOTS[mark])
            at = end
            continue
        plain = _PLAIN.get(sign, sign)
        if key == "solfa16":
            plain = _FIGURES.get(sign, plain)
        yield from ((one, start + at) for one in plain)
        at += 1
