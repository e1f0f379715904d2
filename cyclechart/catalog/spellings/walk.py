"""A text taken apart in one spelling: its tones, and the signs that stand between them."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import NamedTuple

from cyclechart.catalog.spellings.model import Piece, SpelledTone, Spelling
from cyclechart.text.mark_reading import WORDS
from cyclechart.text.typographic_signs import HOLDS

_KEPT = re.compile(
    rf"\s+|{WORDS}|(?:(?<=\s)|^)#(?=\s|$)[^\n]*|![A-Za-z]{{1,20}}!|\|\|?|[\[({{}}~]"
    r"|\][a-z0-9/]*|\)(?:\*\d+)?|/\d{1,3}(?![^\s|()\[\]])",
    re.MULTILINE,
)
"""Signs that stay as they are: space, words, comments, decorations, bars, brackets, glides and
divisors."""
_UNREAD = re.compile(r"[^\s|()\[\]]+")
_SIGNS = {
    **dict.fromkeys(f"{HOLDS}_", "-"), "-": "-", "z": "z", "\u2016": "||", "\u2551": "||",
    "\u0965": "||", "\u0964": "|", "\u2502": "|", "\uff5c": "|",
    **dict.fromkeys("\u200b\u200c\u200d\u2060\u00ad\ufeff", ""),
}  # fmt: skip
_COMMAS = re.compile(r"(?:(?<=[\s|(\[])|^)[,\u201a]+(?=[\s|)\]]|$)", re.MULTILINE)
"""Commas in cells of their own: each holds the tone before."""
_SEMICOLON = re.compile(r"(?:(?<=[\s|(\[;])|^);(?=[\s|)\];]|$)", re.MULTILINE)
"""A semicolon in a cell of its own holds for two (southern practice)."""


class TakenApart(NamedTuple):
    """The pieces of a text in order, and what could not be read of it."""

    pieces: tuple[Piece, ...]
    unread: tuple[str, ...]

    @property
    def tones(self) -> list[SpelledTone]:
        """The tones among the pieces."""
        return [piece.tone for piece in self.pieces if piece.tone is not None]


class _Plain(NamedTuple):
    """A text with its letters and their signs taken apart.

    ``places``: the index in the text of each character of it, and of its end. ``cells``: from
    where to where are tones and signs; what is between stays as it is.
    """

    text: str
    places: tuple[int, ...]
    cells: tuple[tuple[int, int], ...]


def taken_apart(text: str, spelling: Spelling, *, most_unread: int = 0) -> TakenApart | None:
    """Return a text taken apart, or None where more of its cells cannot be read than allowed."""
    plain, places, cells = _plain(text)
    signs = {**_SIGNS, **dict(spelling.signs)}
    pieces: list[Piece] = []
    unread: list[str] = []
    at = 0
    for begin, stop in cells:
        at = max(at, begin)
        while at < stop:
            tone: SpelledTone | None = None
            new = ""
            if (commas := _COMMAS.match(plain, at)) is not None:
                end, new = commas.end(), "-" * len(commas[0])
            elif (two := _SEMICOLON.match(plain, at)) is not None:
                end, new = two.end(), "- -"
            elif (found := spelling.match(plain, at)) is not None:
                end, tone = found
            elif plain[at] in signs:
                end, new = at + 1, signs[plain[at]]
                if new == " " and (at == 0 or plain[at - 1].isspace()):
                    new = ""  # a sign that stands for a space, beside one
            else:
                wrong = _UNREAD.match(plain, at)
                end = min(wrong.end() if wrong else at + 1, stop)
                new = text[places[at] : places[end]]
                unread.append(new)
                if len(unread) > most_unread:
                    return None
            pieces.append(Piece(places[at], places[end], new, tone))
            at = end
    return TakenApart(tuple(_with_kept(text, pieces)), tuple(unread))


def _with_kept(text: str, pieces: list[Piece]) -> list[Piece]:
    """Return the pieces with what stays as it is between them."""
    whole: list[Piece] = []
    at = 0
    for piece in (*pieces, Piece(len(text), len(text))):
        if piece.start > at:
            whole.append(Piece(at, piece.start, text[at : piece.start]))
        if piece.end > piece.start:
            whole.append(piece)
        at = piece.end
    return whole


@lru_cache(maxsize=4)
def _plain(text: str) -> _Plain:
    """Return a text with its letters and their signs taken apart; every spelling asks for it."""
    plain, places = text, list(range(len(text) + 1))
    if not text.isascii():
        parts: list[str] = []
        places = []
        for index, letter in enumerate(text):
            apart = unicodedata.normalize("NFD", letter)
            parts.append(apart)
            places += [index] * len(apart)
        plain = "".join(parts)
        places.append(len(text))
    cells: list[tuple[int, int]] = []
    at = 0
    for kept in _KEPT.finditer(plain):
        if kept.start() > at:
            cells.append((at, kept.start()))
        at = kept.end()
    if at < len(plain):
        cells.append((at, len(plain)))
    return _Plain(plain, tuple(places), tuple(cells))
