"""A text taken apart in one spelling: its tones, and the signs that stand between them."""

from __future__ import annotations

import re
import unicodedata
from typing import NamedTuple

from cyclechart.catalog.spellings.model import Piece, SpelledTone, Spelling
from cyclechart.text.mark_reading import WORDS
from cyclechart.text.typographic_signs import HOLDS

_STRUCTURE = re.compile(
    rf"(?P<kept>\s+|{WORDS}|(?:(?<=\s)|^)#(?=\s|$)[^\n]*|![A-Za-z]{{1,20}}!|\|\|?|[\[({{}}~]"
    r"|\][a-z0-9/]*|\)(?:\*\d+)?|/\d{1,3}(?![^\s|()\[\]]))",
    re.MULTILINE,
)
_UNREAD = re.compile(r"[^\s|()\[\]]+")
_SIGNS = {
    **dict.fromkeys(f"{HOLDS}_", "-"), "-": "-", "z": "z", "\u2016": "||", "\u2551": "||",
    "\u0965": "||", "\u0964": "|", "\u2502": "|", "\uff5c": "|",
}  # fmt: skip
_COMMAS = re.compile(r"(?:(?<=[\s|(\[])|^)[,\u201a]+(?=[\s|)\]]|$)", re.MULTILINE)
"""Commas in cells of their own: each holds the tone before."""
_SEMICOLON = re.compile(r"(?:(?<=[\s|(\[;])|^);(?=[\s|)\];]|$)", re.MULTILINE)
"""A semicolon in a cell of its own holds for two (southern practice)."""
_INVISIBLE = "\u200b\u200c\u200d\u2060\u00ad\ufeff"


class TakenApart(NamedTuple):
    """The pieces of a text in order, and what could not be read of it."""

    pieces: tuple[Piece, ...]
    unread: tuple[str, ...]

    @property
    def tones(self) -> list[SpelledTone]:
        """The tones among the pieces."""
        return [piece.tone for piece in self.pieces if piece.tone is not None]


def taken_apart(text: str, spelling: Spelling, *, most_unread: int = 0) -> TakenApart | None:
    """Return a text taken apart, or None where more of its cells cannot be read than allowed."""
    plain, places = _decomposed(text)
    signs = {**_SIGNS, **dict(spelling.signs), **dict.fromkeys(_INVISIBLE, "")}
    pieces: list[Piece] = []
    unread: list[str] = []
    at = 0
    while at < len(plain):
        tone: SpelledTone | None = None
        new: str | None = None
        kept = _STRUCTURE.match(plain, at)
        if kept is not None:
            end = kept.end()
            new = text[places[at] : places[end]]
        elif (commas := _COMMAS.match(plain, at)) is not None:
            end, new = commas.end(), "-" * len(commas[0])
        elif (two := _SEMICOLON.match(plain, at)) is not None:
            end, new = two.end(), "- -"
        elif (found := spelling.match(plain, at)) is not None:
            end, tone = found
        elif plain[at] in signs:
            end, new = at + 1, signs[plain[at]]
        else:
            wrong = _UNREAD.match(plain, at)
            end = wrong.end() if wrong else at + 1
            new = text[places[at] : places[end]]
            unread.append(new)
            if len(unread) > most_unread:
                return None
        if new == " " and pieces and pieces[-1].text[-1:].isspace():
            new = ""  # a sign that stands for a space beside one
        pieces.append(Piece(places[at], places[end], new or "", tone))
        at = end
    return TakenApart(tuple(pieces), tuple(unread))


def _decomposed(text: str) -> tuple[str, list[int]]:
    """Return a text with its letters and their signs taken apart, and the index in the text of
    each character of it, and of its end."""
    if text.isascii():
        return text, list(range(len(text) + 1))
    parts: list[str] = []
    places: list[int] = []
    for index, letter in enumerate(text):
        apart = unicodedata.normalize("NFD", letter)
        parts.append(apart)
        places += [index] * len(apart)
    return "".join(parts), [*places, len(text)]
